/** `/trace`: from symptoms to the fault, one check at a time. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { traceAnswer } from './answer.ts';
import { traceBack } from './back.ts';
import { traceCannot } from './cannot.ts';
import { traceList } from './list.ts';
import { traceNext } from './next.ts';
import { traceNote } from './note.ts';
import { traceShow } from './show.ts';
import { traceStart } from './start.ts';
import { traceStop } from './stop.ts';
import { traceWipe } from './wipe.ts';

export const trace = defineCommand({
  name: 'trace',
  summary: say`Walk from symptoms to the fault, one check at a time`,
  main: 'start',
  actions: {
    start: traceStart,
    answer: traceAnswer,
    cannot: traceCannot,
    note: traceNote,
    back: traceBack,
    next: traceNext,
    stop: traceStop,
    show: traceShow,
    list: traceList,
    wipe: traceWipe,
  },
});
