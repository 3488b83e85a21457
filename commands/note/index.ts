/** Private notes. Whatever goes wrong, a reply never repeats what was written: `private.ts` says what else keeps to that. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { add } from './add.ts';
import { edit } from './edit.ts';
import { erase } from './erase.ts';
import { list } from './list.ts';
import { search } from './search.ts';

export const note = defineCommand({
  name: 'note',
  summary: say`Private notes, in a direct message: only you can read yours`,
  main: 'list',
  actions: { add, list, search, edit, erase },
});
