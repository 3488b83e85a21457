import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { traceMeant } from '../shared/find-trace.ts';
import { needs } from '../shared/needs.ts';
import { traceOption } from './options.ts';
import { traceReply } from './reply.ts';
import { traceData } from './trace-data.ts';

export const traceShow = defineAction({
  summary: say`Show where a trace stands, and go on with it`,
  options: { trace: traceOption },
  needs: [needs.openTrace],
  examples: ['/trace show 3'],

  data: traceData,
  refuses: ['not-found', 'missing-option', 'wrong-state'],
  run: ({ trace: number }, context) => traceReply(context, traceMeant(context, number)),
});
