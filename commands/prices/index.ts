/** `/prices`: prices seen, for phones and parts. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { pricesAdd } from './add.ts';
import { pricesExport } from './export.ts';
import { pricesImport } from './import.ts';
import { pricesList } from './list.ts';
import { pricesRemove } from './remove.ts';

export const prices = defineCommand({
  name: 'prices',
  summary: say`Record and list prices seen, for phones and parts`,
  main: 'list',
  actions: {
    list: pricesList,
    add: pricesAdd,
    remove: pricesRemove,
    import: pricesImport,
    export: pricesExport,
  },
});
