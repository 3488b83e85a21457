/** What the bot holds about the asker: theirs to take away, and to have erased. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { mydataErase } from './erase.ts';
import { mydataExport } from './export.ts';

export const mydata = defineCommand({
  name: 'mydata',
  summary: say`What the bot holds about you: take it away, or have it erased`,
  main: 'export',
  actions: {
    export: mydataExport,
    erase: mydataErase,
  },
});
