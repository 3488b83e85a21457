/** `/swap`: what swapped components did. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { aside } from './aside.ts';
import { list } from './list.ts';
import { report } from './report.ts';

export const swap = defineCommand({
  name: 'swap',
  summary: say`Tell what a swapped component did, for everyone’s /paired`,
  main: 'report',
  actions: { report, list, aside },
});
