/** `/danger wipe`: who made a phone safe and why something was withdrawn, as typed, are removed for good. The danger stays. */
import { z } from 'zod';
import { say } from '../../shared/language/say.ts';
import type { LoggedPhoneEvent } from '../../shared/phone/event.ts';
import { defineAction } from '../framework/command.ts';
import { needs } from '../shared/needs.ts';
import { type Written, wiped, wordsToWipe } from '../shared/wipe-words.ts';
import { mustBeMeant, subjectOptions } from './options.ts';

const dangerWipedData = z.object({
  wiped: z.object({ kind: z.enum(['job', 'trace']), number: z.number().int() }),
});

const writtenIn = ({ seq, event, by, withdrawn }: LoggedPhoneEvent) => [
  ...(event.kind === 'safety' ? [{ seq, field: 'who' as const, by, text: event.who }] : []),
  ...(withdrawn ? [{ seq, field: 'why' as const, by: withdrawn.by, text: withdrawn.why }] : []),
];

export const dangerWipe = defineAction({
  summary: say`Remove what you typed after who: and why: for good, with every copy; a steward removes all`,
  who: 'member',
  options: subjectOptions,
  needs: [needs.job],
  examples: ['/danger wipe job:12'],

  data: dangerWipedData,
  refuses: ['missing-option', 'not-found', 'wrong-state'],
  run: (given, context) => {
    const { store } = context;
    const subject = mustBeMeant(context, given);
    const of = `${subject.kind}:${subject.number}`;
    const record = `danger:${of}`;
    const kept = store.phoneEvents.list(subject).flatMap(writtenIn);
    const words: readonly (Written & (typeof kept)[number])[] = wordsToWipe(
      context,
      record,
      kept,
      subject.kind,
    );
    const seqs = (field: 'who' | 'why') => words.flatMap((one) => (one.field === field ? [one.seq] : []));
    store.phoneEvents.wipe(subject, { who: seqs('who'), why: seqs('why') });
    return wiped(context, {
      record,
      words,
      subject: of,
      title:
        subject.kind === 'job'
          ? say`Job ${subject.number}: the words about its danger are removed; the danger is as it was`
          : say`Trace ${subject.number}: the words about its danger are removed; the danger is as it was`,
      data: { wiped: subject } satisfies z.infer<typeof dangerWipedData>,
    });
  },
});
