import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { needs } from '../shared/needs.ts';
import { askedStep, openTrace, stepOption, traceOption } from './options.ts';
import { traceReply } from './reply.ts';
import { traceData } from './trace-data.ts';

export const traceCannot = defineAction({
  summary: say`Say that you cannot do the step that was asked`,
  who: 'member',
  options: { step: stepOption, trace: traceOption },
  needs: [needs.openTrace],
  examples: ['/trace cannot'],

  data: traceData,
  refuses: ['not-found', 'missing-option', 'wrong-state', 'unsafe'],
  run: ({ step: given, trace: number }, context) => {
    const open = openTrace(context, number);
    const step = askedStep(context, open, given);
    return traceReply(
      context,
      context.store.traces.add(open.number, {
        kind: 'cannot',
        ref: step.id,
        outcome: null,
        reading: null,
        by: actorOf(context),
        at: context.now,
      }),
    );
  },
});
