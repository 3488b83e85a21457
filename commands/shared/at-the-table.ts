/** At the seller's table: what was seen there so far, which looks of a minute come next, and one tap for each answer. */

import { z } from 'zod';
import { fits } from '../../knowledge/features.ts';
import type { Check } from '../../knowledge/schema.ts';
import { safetyOf } from '../../shared/diagnosis/family-facts.ts';
import { readAnswer } from '../../shared/diagnosis/reading.ts';
import { eventsOfAnswer } from '../../shared/diagnosis/sets/next-step.ts';
import type { Message } from '../../shared/language/message.ts';
import { joined, packText, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import type { LoggedPhoneEvent, PhoneEvent } from '../../shared/phone/event.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { barOn, type PhoneState } from '../../shared/phone/state.ts';
import { cardsFor } from '../../shared/safety/cautions.ts';
import type { TableChoice } from '../../shared/worth/table-checks.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { manyOption, type Option, refuseValue } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import {
  type DraftBlock,
  type DraftCard,
  type DraftChoice,
  onBack,
  steps,
  text,
} from '../framework/reply.ts';
import { closedChecks } from './lookups.ts';
import type { Phone } from './phone.ts';

/** A look and what it showed. */
export interface Look {
  check: Check;
  outcome: Check['outcomes'][number];
}

const lookOption: Option<Look, true> = {
  summary: say`What was seen before buying: check=outcome, separated by commas; the choices fill it in`,
  example: 'glass-look=sound',
  required: true,
  many: false,
  wire: { type: 'text', max: 1000 },
  expected: say`a check of a closed phone and what it showed, such as ${typed('glass-look=sound')}`,
  schema: (context) =>
    z.string().transform((text, issue): Look => {
      const [name = '', answer = ''] = text.split(/=(.*)/s);
      const found = closedChecks.find(name, closedChecks.entries(context));
      const check = found && context.knowledge.checks.get(found.id);
      if (!check) return refuseValue(issue, closedChecks.none(verbatim(name)));
      const read = readAnswer(check, answer);
      if (read.ok) return { check, outcome: read.outcome };
      return refuseValue(issue, read.problem, { expected: read.expected });
    }),
};
export const seenOption = manyOption(lookOption);

export const lookSchema = z.object({ check: z.string(), outcome: z.string() });
export const looksToData = (looks: readonly Look[]): z.infer<typeof lookSchema>[] =>
  looks.map(({ check, outcome }) => ({ check: check.id, outcome: outcome.id }));

/**
 * The phone as these looks, in their order, leave it after what was said of it before; refuses one that it
 * cannot have, or that is barred on it by then.
 */
export function stateAfterLooks(
  context: Context,
  { family }: Phone,
  symptoms: readonly string[],
  looks: readonly Look[],
  said: readonly PhoneEvent[] = [],
): PhoneState {
  const { knowledge, now } = context;
  const logged: LoggedPhoneEvent[] = [];
  const log = (event: PhoneEvent) =>
    logged.push({ seq: logged.length + 1, event, by: actorOf(context), at: now, withdrawn: null });
  for (const event of said) log(event);
  const stateNow = () => phoneStateOf(knowledge, symptoms, logged);
  const done = new Set<string>();
  for (const { check, outcome } of looks) {
    const refuse = (problem: Message, expected: Message): never => {
      throw new Refusal({ code: 'bad-option', problem, expected, option: 'seen' });
    };
    if (!fits(family, check))
      refuse(say`A ${packText(family.name)} has no ${packText(check.name)}.`, say`a check of its family`);
    if (done.has(check.id)) refuse(say`${packText(check.name)} is given twice.`, say`each check once`);
    if (barOn(stateNow(), safetyOf(check)) !== null)
      refuse(
        say`${packText(check.name)} is not done on this phone, by what was seen before it.`,
        say`the looks without it; /caution says why`,
      );
    done.add(check.id);
    for (const event of eventsOfAnswer(check, outcome.id)) log(event);
  }
  return stateNow();
}

const lookInWords = ({ check, outcome }: Look): Message =>
  plain`${packText(check.name)}: ${packText(outcome.says)}`;

interface TableReply {
  blocks: DraftBlock[];
  choices: DraftChoice[];
  cautions: DraftCard[];
}

/** What was seen, with the highest price before it and now. */
export const seenInWords = (looks: readonly Look[], before: Message, now: Message): Message =>
  joined([
    say`Seen: ${joined(looks.map(lookInWords), '; ')}.`,
    say`Most to pay: ${before} before the last look, ${now} now.`,
  ]);

/**
 * The looks that move the highest price most, and a choice for each of their outcomes: the same command with what was seen.
 * @param again the options of the command as text, without what was seen.
 */
export function tableReply(
  context: Context,
  table: readonly TableChoice[],
  seen: readonly Look[],
  again: Readonly<Record<string, string>>,
  show: (sum: number) => Message,
): TableReply {
  const { knowledge, collective } = context;
  const asked = table.flatMap((one) => {
    const check = knowledge.checks.get(one.id);
    return check ? [{ ...one, check }] : [];
  });
  if (!asked.length) return { blocks: [], choices: [], cautions: [] };
  const hazards = new Set(asked.flatMap(({ check }) => check.hazards));
  const before = seen.map(({ check, outcome }) => `${check.id}=${outcome.id}`);
  return {
    blocks: [
      text(
        say`Before you buy, a minute each: ${joined(
          asked.map(({ check }) => packText(check.name)),
          '; ',
        )}.`,
      ),
      ...onBack(
        steps(
          asked.map(
            ({ check, moves }) =>
              say`${packText(check.name)}. ${packText(check.ask)} Moves the most to pay by about ${show(moves)}.`,
          ),
          say`Before you buy, a minute each`,
          false,
        ),
      ),
    ],
    // One look is asked at a time; the others are there for who has seen them already.
    choices: asked.flatMap(({ check, outcomes }, at) =>
      check.outcomes
        .filter(({ id }) => outcomes.some((one) => one.id === id))
        .map((outcome) => ({
          label: lookInWords({ check, outcome }),
          aside: at > 0,
          invoke: {
            command: 'worth',
            action: '',
            options: { ...again, seen: [...before, `${check.id}=${outcome.id}`].join(', ') },
          },
        })),
    ),
    // Nobody has said that it is wet or hot: a line is enough for what a look may meet.
    cautions: cardsFor(knowledge, hazards, collective.settings.region).map((card) => ({
      ...card,
      line: card.line ?? plain`${card.name}: ${card.lead}`,
    })),
  };
}
