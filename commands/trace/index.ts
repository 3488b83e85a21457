/** `/trace`: from symptoms to the fault, one check at a time. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { answer } from './answer.ts';
import { back } from './back.ts';
import { cannot } from './cannot.ts';
import { list } from './list.ts';
import { next } from './next.ts';
import { show } from './show.ts';
import { start } from './start.ts';
import { stop } from './stop.ts';

export const trace = defineCommand({
  name: 'trace',
  summary: say`Walk from symptoms to the fault, one check at a time`,
  main: 'start',
  actions: { start, answer, cannot, back, next, stop, show, list },
});
