/** `/trace wipe`: what was kept as words when a trace began is removed for good. */
import { z } from 'zod';
import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { traceMeant } from '../shared/find-trace.ts';
import { needs } from '../shared/needs.ts';
import { subjectOfTrace } from '../shared/phone-state.ts';
import { wiped, wordsToWipe } from '../shared/wipe-words.ts';
import { traceOption } from './options.ts';

const traceWipedData = z.object({ wiped: z.object({ trace: z.number().int() }) });

export const traceWipe = defineAction({
  summary: say`Remove your words in a trace for good, with every copy here; a steward removes all`,
  who: 'member',
  options: { trace: traceOption },
  needs: [needs.openTrace],
  examples: ['/trace wipe 3'],

  data: traceWipedData,
  refuses: ['not-found', 'missing-option', 'wrong-state'],
  run: ({ trace: number }, context) => {
    const trace = traceMeant(context, number);
    const record = `trace:${trace.number}`;
    const kept = trace.steps.flatMap(({ seq, kind, reading, by }) =>
      kind === 'words' && reading ? [{ seq, by, text: reading }] : [],
    );
    const words = wordsToWipe(context, record, kept, 'trace');
    context.store.traces.wipe(
      trace.number,
      words.map(({ seq }) => seq),
    );
    const phone = subjectOfTrace(context, trace);
    return wiped(context, {
      record,
      words,
      subject: record,
      besides: phone.kind === 'job' ? [`job:${phone.number}`] : [],
      title: say`Trace ${trace.number}: its words are removed`,
      data: { wiped: { trace: trace.number } } satisfies z.infer<typeof traceWipedData>,
    });
  },
});
