/** `/reading`: the bench's own tables of what sound phones read. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { readingAdd } from './add.ts';
import { readingList } from './list.ts';
import { readingRemove } from './remove.ts';

export const reading = defineCommand({
  name: 'reading',
  summary: say`Your bench's own tables: diode readings and currents of sound phones, by model`,
  main: 'list',
  actions: { list: readingList, add: readingAdd, remove: readingRemove },
});
