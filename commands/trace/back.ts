import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { Refusal } from '../framework/refusal.ts';
import { needs } from '../shared/needs.ts';
import { openTrace, traceOption } from './options.ts';
import { traceReply } from './reply.ts';
import { traceData } from './trace-data.ts';

export const traceBack = defineAction({
  summary: say`Take the last answer back`,
  who: 'member',
  options: { trace: traceOption },
  needs: [needs.openTrace],
  examples: ['/trace back'],

  data: traceData,
  refuses: ['not-found', 'missing-option', 'wrong-state'],
  run: ({ trace: number }, context) => {
    const open = openTrace(context, number);
    if (!open.steps.some((step) => !step.undone)) {
      throw new Refusal({
        code: 'wrong-state',
        problem: say`There is no answer to take back.`,
        expected: say`an answer first`,
        example: `/trace show ${open.number}`,
      });
    }
    return traceReply(context, context.store.traces.undoLast(open.number));
  },
});
