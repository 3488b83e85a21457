/** What is said of a phone whose cell may be dangerous, whichever command asks: it comes before everything else. */

import type { Message } from '../../shared/language/message.ts';
import { plain, say, verbatim } from '../../shared/language/say.ts';
import type { SaidFact } from '../../shared/phone/event.ts';
import { cellFactsOf, isHot, type KnownFact, type PhoneState } from '../../shared/phone/state.ts';
import { disposalAdvice } from '../../shared/safety/cautions.ts';
import type { PhoneSubject } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { type Draft, type DraftBlock, type DraftChoice, steps, text } from '../framework/reply.ts';
import { cardsOfState } from './caution-cards.ts';
import { dayOf } from './words.ts';

export const factWords: Readonly<Record<SaidFact, Message>> = {
  swollen: say`swollen`,
  hot: say`hot, hissing or smoking`,
  leaking: say`leaking or smelling`,
  hurt: say`dented, pierced or torn`,
  lifted: say`pushed up from inside`,
  wet: say`wet`,
  'mark-dry': say`liquid mark not turned`,
  'seal-whole': say`seal whole`,
  unsafe: say`swollen, hot, leaking or hurt`,
};

const groundWords = {
  symptom: say`named as a symptom`,
  outcome: say`seen in a check`,
  said: say`said so`,
  words: say`from words of danger`,
  odds: say`likely enough by what was seen`,
} as const;

/** "swollen: seen in a check (Ines, 2 March)". */
export const factLine = (context: Context, { fact, ground, by, at }: KnownFact): Message =>
  by
    ? plain`${factWords[fact]}: ${groundWords[ground]} (${verbatim(by)}, ${dayOf(context, at)})`
    : plain`${factWords[fact]}: ${groundWords[ground]}`;

/** A choice that says something of the state of a phone. */
export function dangerChoice(
  subject: PhoneSubject,
  revision: number,
  label: Message,
  action: string,
  options: Readonly<Record<string, string>> = {},
): DraftChoice {
  return {
    label,
    invoke: {
      command: 'danger',
      action,
      options: { ...options, [subject.kind]: String(subject.number) },
    },
    subject: `${subject.kind}:${subject.number}`,
    revision,
    open: true,
  };
}

/** Every step that opens, heats, pries, presses or charges offers this. */
export const unsafeChoice = (subject: PhoneSubject, revision: number): DraftChoice => ({
  ...dangerChoice(subject, revision, say`Swollen, hot, leaking…`, 'seen', { what: 'unsafe' }),
  danger: true,
});

/** Where the bot read it from words alone, it may have misread: anyone of the collective may say so. */
export function misreadChoice(
  { write }: Pick<Context, 'write'>,
  subject: PhoneSubject,
  revision: number,
  facts: readonly KnownFact[],
): DraftChoice[] {
  if (!facts.length || facts.some(({ ground }) => ground !== 'words')) return [];
  const what = [...new Set(facts.map(({ fact }) => fact))].join(', ');
  return [
    dangerChoice(subject, revision, say`Misread: none of that is on this phone`, 'withdraw', {
      what,
      why: write(say`misread from words`),
    }),
  ];
}

const whichChoices = (subject: PhoneSubject, revision: number): DraftChoice[] =>
  (['hot', 'swollen', 'leaking', 'hurt'] as const).map((fact) =>
    dangerChoice(subject, revision, say`It is ${factWords[fact]}`, 'seen', { what: fact }),
  );

/** The part of a reply that a dangerous cell takes over; null where there is none. */
export function dangerReply(
  context: Context,
  subject: PhoneSubject,
  revision: number,
  state: PhoneState,
): (Pick<Draft, 'cautions' | 'blocks' | 'choices'> & { says: Message }) | null {
  if (state.danger === 'none') return null;
  const { knowledge, collective } = context;
  const facts = cellFactsOf(state);
  const why = steps(
    facts.map((fact) => factLine(context, fact)),
    say`What is known of its cell`,
    false,
  );
  const choice = (label: Message, action: string) => dangerChoice(subject, revision, label, action);
  const bare = facts.every(({ fact }) => fact === 'unsafe');
  const parts = {
    suspect: {
      says: say`stop until the cell is isolated`,
      blocks: [
        text(
          isHot(state)
            ? say`Get away from it first. Nothing is done on this phone: it is not charged, switched on, pressed, heated, opened or pried. Somebody qualified says when it may be moved and set apart; the bot cannot judge a cell and never clears one.`
            : say`Nothing is done on this phone: it is not charged, switched on, pressed, heated, opened or pried. Say when it is isolated: off, unplugged and set apart. The bot cannot judge a cell and never clears one.`,
        ),
        why,
      ],
      choices: [
        ...(bare ? whichChoices(subject, revision) : []),
        ...misreadChoice(context, subject, revision, facts),
        choice(isHot(state) ? say`Set apart, as someone qualified said` : say`It is isolated`, 'isolated'),
      ],
    },
    isolated: {
      says: say`isolated; now hand it over`,
      blocks: [
        text(
          say`Only handing it over is left: to a service that is qualified to take such a cell out, or to where cells are taken back. ${disposalAdvice(knowledge, collective.settings.region)}`,
        ),
        why,
      ],
      choices: [
        choice(say`It is handed over`, 'handed-over'),
        choice(say`Someone qualified fitted a new cell`, 'new-cell'),
      ],
    },
    'handed-over': {
      says: say`handed over`,
      blocks: [
        text(
          say`It is out of your hands, and nothing more is done on it here. If it comes back with another cell, say who fitted it.`,
        ),
        why,
      ],
      choices: [choice(say`It is back, with a new cell fitted by someone qualified`, 'new-cell')],
    },
  } satisfies Record<
    Exclude<PhoneState['danger'], 'none'>,
    { says: Message; blocks: DraftBlock[]; choices: DraftChoice[] }
  >;
  return { cautions: cardsOfState(context, state), ...parts[state.danger] };
}
