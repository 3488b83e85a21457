/** Private notes. Whatever goes wrong, a reply never repeats what was written: `private.ts` says what else keeps to that. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { noteAdd } from './add.ts';
import { noteEdit } from './edit.ts';
import { noteErase } from './erase.ts';
import { noteList } from './list.ts';
import { noteSearch } from './search.ts';

export const note = defineCommand({
  name: 'note',
  summary: say`Private notes, in a direct message: only you can read yours`,
  main: 'list',
  actions: {
    add: noteAdd,
    list: noteList,
    search: noteSearch,
    edit: noteEdit,
    erase: noteErase,
  },
});
