import { say } from '../../shared/language/say.ts';
import { saidFacts } from '../../shared/phone/event.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { choiceOption, manyOption, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { needs } from '../shared/needs.ts';
import { mustBeMeant, spokenOf, subjectOptions } from './options.ts';
import { dangerData, dangerState } from './reply.ts';

export const dangerWithdraw = defineAction({
  summary: say`Take back what was said of a phone by mistake; it stays to be read, with why`,
  who: 'member',
  options: {
    what: manyOption(
      choiceOption({ summary: say`What was said by mistake`, example: 'swollen', choices: saidFacts }),
    ),
    why: textOption({
      summary: say`Why it was a mistake`,
      example: 'it was said of another phone',
      max: 200,
    }),
    ...subjectOptions,
  },
  needs: [needs.job, needs.dangerSaid],
  examples: ['/danger withdraw swollen why:"it was said of another phone" job:12'],

  data: dangerData,
  refuses: ['missing-option', 'not-found'],
  run: ({ what, why, job, trace }, context) => {
    const { store, person, now } = context;
    const subject = mustBeMeant(context, { job, trace });
    const wrong = store.phoneEvents
      .list(subject)
      .filter(({ event, withdrawn }) => !withdrawn && event.kind === 'fact' && what.includes(event.fact));
    if (!wrong.length) {
      throw new Refusal({
        code: 'not-found',
        problem: say`Nothing like that was said of it.`,
        expected: say`one of the facts that /danger show lists`,
        option: 'what',
        example: `/danger show ${subject.kind}:${subject.number}`,
      });
    }
    const seen = wrong.some(({ event }) => event.kind === 'fact' && event.ground !== 'words');
    if (seen && person.role !== 'steward') {
      throw new Refusal({
        code: 'not-allowed',
        problem: say`Somebody saw or said that of this phone.`,
        expected: say`a steward of the collective to take it back; until then it is treated as dangerous`,
        option: 'what',
      });
    }
    const hand = { by: actorOf(context), at: now };
    for (const { seq } of wrong) store.phoneEvents.withdraw(subject, seq, hand, why);
    return dangerState(context, spokenOf(context, subject));
  },
});
