import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { needs } from '../shared/needs.ts';
import { openTrace, traceOption } from './options.ts';
import { traceReply } from './reply.ts';
import { traceData } from './trace-data.ts';

export const traceNext = defineAction({
  summary: say`Show the best step left, even where stopping is worth more`,
  options: { trace: traceOption },
  needs: [needs.openTrace],
  examples: ['/trace next'],

  data: traceData,
  refuses: ['not-found', 'missing-option', 'wrong-state'],
  run: ({ trace: number }, context) => traceReply(context, openTrace(context, number), true),
});
