import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { needs } from '../shared/needs.ts';
import { openTrace, traceOption } from './options.ts';
import { traceReply } from './reply.ts';
import { traceData } from './trace-data.ts';

export const traceStop = defineAction({
  summary: say`Stop the trace here`,
  who: 'member',
  options: { trace: traceOption },
  needs: [needs.openTrace],
  examples: ['/trace stop'],

  data: traceData,
  refuses: ['not-found', 'missing-option', 'wrong-state'],
  run: ({ trace: number }, context) =>
    traceReply(context, context.store.traces.end(openTrace(context, number).number)),
});
