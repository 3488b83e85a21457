import { say } from '../../shared/language/say.ts';
import { saidFacts } from '../../shared/phone/event.ts';
import { defineAction } from '../framework/command.ts';
import { choiceOption, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { mustBeMeant, spokenOf, subjectOptions } from './options.ts';
import { dangerState } from './reply.ts';

export const withdraw = defineAction({
  summary: say`Take back what was said of a phone by mistake; it stays to be read, with why`,
  who: 'steward',
  options: {
    what: choiceOption({ summary: say`What was said by mistake`, example: 'swollen', choices: saidFacts }),
    why: textOption({
      summary: say`Why it was a mistake`,
      example: 'it was said of another phone',
      max: 200,
    }),
    ...subjectOptions,
  },
  examples: ['/danger withdraw swollen why:"it was said of another phone" job:12'],
  run: ({ what, why, job, trace }, context) => {
    const { store, person, now } = context;
    const subject = mustBeMeant(context, { job, trace });
    const wrong = store.phoneEvents
      .list(subject)
      .filter(({ event, withdrawn }) => !withdrawn && event.kind === 'fact' && event.fact === what);
    if (!wrong.length) {
      throw new Refusal({
        problem: say`Nothing like that was said of it.`,
        expected: say`one of the facts that /danger show lists`,
        option: 'what',
        example: `/danger show ${subject.kind}:${subject.number}`,
      });
    }
    const hand = { by: person.name, byKey: person.key, at: now };
    for (const { seq } of wrong) store.phoneEvents.withdraw(subject, seq, hand, why);
    return dangerState(context, spokenOf(context, subject));
  },
});
