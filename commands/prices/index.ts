/** `/prices`: prices seen, for phones and parts. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { add } from './add.ts';
import { exportFile } from './export.ts';
import { importFile } from './import.ts';
import { list } from './list.ts';
import { remove } from './remove.ts';

export const prices = defineCommand({
  name: 'prices',
  summary: say`Record and list prices seen, for phones and parts`,
  main: 'list',
  actions: { list, add, remove, import: importFile, export: exportFile },
});
