/** What a phone is worth and what is wrong with it: its economics, its case, and the appraisal of both. */

import type { Family, PartGrade } from '../../knowledge/schema.ts';
import { type LearnedModel, learnedModelOf } from '../../shared/diagnosis/learned-model.ts';
import type { BenchEvent } from '../../shared/diagnosis/sets/bench-belief.ts';
import { keptCaseOf } from '../../shared/diagnosis/sets/kept-cases.ts';
import type { SetCase } from '../../shared/diagnosis/sets/set-case.ts';
import type { SetCaseQuestion } from '../../shared/diagnosis/sets/set-case-question.ts';
import type { Economics } from '../../shared/economics/economics.ts';
import { keptEconomicsOf } from '../../shared/economics/kept-economics.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, say } from '../../shared/language/say.ts';
import type { PhoneSighting } from '../../shared/market/predict.ts';
import { toMajor } from '../../shared/money/money.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import type { PhoneState } from '../../shared/phone/state.ts';
import { belongsIn } from '../../shared/shelf/part.ts';
import type { NewSighting } from '../../shared/store/index.ts';
import { type Appraisal, appraise } from '../../shared/worth/appraise.ts';
import type { Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';
import type { Phone } from './phone.ts';

/**
 * The newest prices of a model that are weighed. Older ones would hardly move the answer (their spread, not their number,
 * is what is left of the doubt), and the answer must not get slower with every price.
 */
export const MOST_SIGHTINGS = 120;

export function economicsFor(
  context: Context,
  { family, model }: Phone,
  more: { grade?: number; storageGb?: number; value?: number } = {},
): Economics {
  const { store, knowledge, now, collective } = context;
  const newest = (kind: 'phone' | 'part') =>
    model ? store.sightings.list({ model: model.id, kind, limit: MOST_SIGHTINGS }) : [];
  return keptEconomicsOf({
    knowledge,
    family,
    settings: collective.settings,
    now,
    grade: more.grade ?? 0,
    ...(more.storageGb === undefined ? {} : { storageGb: more.storageGb }),
    ...(more.value === undefined ? {} : { value: more.value }),
    ...(model
      ? {
          model: {
            name: model.name,
            ...(model.launched ? { launched: new Date(`${model.launched}T00:00:00Z`) } : {}),
            ...(model.newPrice ? { newPrice: toMajor(model.newPrice) } : {}),
          },
        }
      : {}),
    sightings: newest('phone').map(phoneSightingOf),
    shelf: partsOnShelf(context, family.id, model?.id ?? null),
    parts: newest('part').flatMap((one) =>
      one.component && one.partGrade
        ? [{ component: one.component, grade: one.partGrade, price: toMajor(one.price), by: tellerOf(one) }]
        : [],
    ),
  });
}

/** What lies on the shelf for such a phone, at what was paid for it; a part out of a donor phone has been paid with that. */
const partsOnShelf = (
  { store }: Context,
  family: string,
  model: number | null,
): { component: string; grade: PartGrade; price: number }[] =>
  store.shelf
    .list({ family, states: ['here'] })
    .filter((part) => belongsIn(part, { family, model }) && !part.paired)
    .map(({ component, grade, price }) => ({ component, grade, price: price ? toMajor(price) : 0 }));

/** Who told a price; one that stands under a name alone is by that name. */
export const tellerOf = ({ by }: Pick<NewSighting, 'by'>): string => by.key ?? `name ${by.name}`;

/** A price of a phone as the market's model takes it. */
export const phoneSightingOf = (one: NewSighting): PhoneSighting => ({
  at: new Date(`${one.seen}T12:00:00Z`),
  price: toMajor(one.price),
  grade: one.grade ?? 0,
  asked: one.how === 'asked',
  by: tellerOf(one),
  ...(one.storage ? { storageLog2: Math.log2(one.storage) } : {}),
});

/** The pack as the collective's closed jobs have moved it. */
export const learnedModelIn = ({ knowledge, store }: Context): LearnedModel =>
  learnedModelOf(knowledge, store.outcomeCounts.read());

/** How many closed jobs stand behind the odds for a family, in words. */
export function jobsBehind(context: Context, family: Family): Message {
  const { family: own, all } = learnedModelIn(context).jobs(family);
  if (!all) return say`no closed jobs here yet`;
  return counted(
    all,
    '{0} closed job here, {1} of this family',
    '{0} closed jobs here, {1} of this family',
    own,
  );
}

/** The phone as a question of which faults it has, with what the collective's closed jobs have taught. */
export function setQuestionFor(
  context: Context,
  family: Family,
  events: readonly BenchEvent[],
  economics: Economics,
  state: PhoneState,
  damage: readonly string[] = [],
): SetCaseQuestion {
  const learnt = learnedModelIn(context);
  const weights = learnt.weights(family);
  return {
    knowledge: learnt.knowledge,
    family,
    events,
    damage,
    state,
    economics,
    ...(weights ? { weights } : {}),
  };
}

/** The decision that such a question is; refuses what no faults of the pack explain. */
export function setCaseFor(question: SetCaseQuestion): SetCase {
  const found = keptCaseOf(question);
  if (found) return found;
  throw new Refusal({
    code: 'wrong-state',
    problem: say`No faults in the knowledge pack explain all of that together.`,
    expected: say`fewer symptoms, or a check answered again`,
    example: '/trace back',
  });
}

export interface PhoneQuestion {
  /** In major units. */
  price: number;
  /** Condition when sold, 2 (mint) to -2 (poor). */
  grade: number;
  storageGb?: number;
  /** What it sells for, in major units, where the asker knows. */
  value?: number;
  /** What it shows, over and above the events. */
  symptoms: readonly string[];
  /** What was said, seen and done in its traces, oldest first. */
  events?: readonly BenchEvent[];
  /** What was seen before buying, after all that. */
  looks?: readonly BenchEvent[];
  /** By the symptoms alone when not given. */
  state?: PhoneState;
  /** Components known to be broken. */
  damage?: readonly string[];
  /** It can still be looked at before it is bought. */
  atTable?: boolean;
  /** Kept in use once it works. */
  kept?: boolean;
  /** It is one of so many. */
  ofMany?: number;
}

export interface AppraisedPhone {
  economics: Economics;
  question: SetCaseQuestion;
  found: SetCase;
  result: Appraisal;
}

/** What to do with a phone: what `/worth` answers and what a job is opened with. */
export function appraisePhone(
  context: Context,
  phone: Phone,
  {
    price,
    symptoms,
    events = [],
    looks = [],
    state,
    damage = [],
    atTable = false,
    kept = false,
    ofMany,
    ...more
  }: PhoneQuestion,
): AppraisedPhone {
  const economics = economicsFor(context, phone, more);
  const question = setQuestionFor(
    context,
    phone.family,
    [...events, ...symptoms.map((id): BenchEvent => ({ kind: 'shown', id })), ...looks],
    economics,
    state ?? phoneStateOf(context.knowledge, symptoms),
    damage,
  );
  const found = setCaseFor(question);
  const result = appraise({
    question,
    found,
    settings: context.collective.settings,
    price,
    atTable,
    kept,
    ...(ofMany === undefined ? {} : { ofMany }),
  });
  return { economics, question, found, result };
}
