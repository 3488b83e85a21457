/** `/swap`: what swapped components did. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { swapAside } from './aside.ts';
import { swapList } from './list.ts';
import { swapReport } from './report.ts';
import { swapWipe } from './wipe.ts';

export const swap = defineCommand({
  name: 'swap',
  summary: say`Tell what a swapped component did, for everyone’s /paired`,
  main: 'report',
  actions: {
    report: swapReport,
    list: swapList,
    aside: swapAside,
    wipe: swapWipe,
  },
});
