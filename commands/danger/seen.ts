import { say } from '../../shared/language/say.ts';
import { saidFacts } from '../../shared/phone/event.ts';
import { isCellFact, stateAfter } from '../../shared/phone/state.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { choiceOption, manyOption } from '../framework/option.ts';
import { reply, text } from '../framework/reply.ts';
import { cardsOfState } from '../shared/caution-cards.ts';
import { subjectMeant, subjectOptions, write } from './options.ts';
import { dangerData, dangerDataOf } from './reply.ts';

export const dangerSeen = defineAction({
  summary: say`Say at any time that a phone is swollen, hot, leaking, hurt, lifted or wet`,
  who: 'member',
  options: {
    what: manyOption(choiceOption({ summary: say`What you see`, example: 'swollen', choices: saidFacts })),
    ...subjectOptions,
  },
  examples: ['/danger swollen', '/danger "hot, swollen" job:12'],

  data: dangerData,
  refuses: ['not-found'],
  run: ({ what, job, trace }, context) => {
    const facts = [...new Set(what)];
    const subject = subjectMeant(context, { job, trace });
    const events = facts.map((fact) => ({ kind: 'fact' as const, fact, ground: 'said' as const, ref: '' }));
    if (subject) return write(context, subject, events);
    // No phone to write it to, and the caution is needed all the same.
    const { now } = context;
    const state = stateAfter(
      events.map((event) => ({
        seq: 0,
        event,
        by: actorOf(context),
        at: now,
        withdrawn: null,
      })),
    );
    return reply({
      title: facts.some(isCellFact)
        ? say`Stop: work on no phone like that`
        : say`No current into a wet phone`,
      tone: facts.some(isCellFact) ? 'danger' : 'caution',
      cautions: cardsOfState(context, state),
      blocks: [
        text(
          say`It is not said of which phone. When it is safe, write it down: /danger and job: or trace: with its number, or take the phone in with /job open.`,
        ),
      ],
      data: dangerDataOf(null, state),
    });
  },
});
