import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { Refusal } from '../framework/refusal.ts';
import { openTrace, traceOption } from './options.ts';
import { benchOf, traceReply } from './reply.ts';

export const isolated = defineAction({
  summary: 'Confirm that a swollen or hot cell is isolated',
  who: 'member',
  options: { trace: traceOption },
  examples: ['/trace isolated'],
  run: ({ trace: number }, context) => {
    const open = openTrace(context, number);
    if (benchOf(context, open).found.cell !== 'to-isolate') {
      throw new Refusal({
        problem: say`This trace is not waiting for that.`,
        expected: say`the step that was asked`,
        example: `/trace show ${open.number}`,
      });
    }
    return traceReply(
      context,
      context.store.traces.add(open.number, {
        kind: 'confirm',
        ref: 'isolated',
        outcome: null,
        reading: null,
        by: context.person.name,
        at: context.now,
      }),
    );
  },
});
