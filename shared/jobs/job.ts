/** A job: one phone on its way through the bench. Everything about it follows from its record and its entries. */
import { z } from 'zod';
import type { Money } from '../money/money.ts';
import { addMoney, money, moneySchema } from '../money/money.ts';
import { type Actor, actorSchema } from '../people/actor.ts';
import type { PhoneState } from '../phone/state.ts';
import { ways } from '../worth/verdict.ts';
import { answers, type Entry, type LoggedEntry, type Question, type TestResult } from './entry.ts';

export const cameWays = ['given', 'bought', 'left', 'customer'] as const;
export type Came = (typeof cameWays)[number];
export const endings = ['restored', 'stripped', 'passed', 'handed-back'] as const;
export type EndedAs = (typeof endings)[number];

/** What `/worth` said when the job was opened; no verdict without a price that rests on something. */
export const promiseSchema = z.object({
  verdict: z.enum(ways).nullable(),
  /** Expected net after the price paid. */
  mean: moneySchema,
  low: moneySchema,
  high: moneySchema,
  minutes: z.number(),
  chanceRestored: z.number(),
  /** Chances of the faults at intake, by id. */
  odds: z.record(z.string(), z.number()),
});
type IntakePromise = z.infer<typeof promiseSchema>;

/** How a job ended. */
export const endingSchema = z.object({
  /** What was paid for it; null when nothing was. */
  realised: moneySchema.nullable(),
  /** The collective keeps it. */
  kept: z.boolean(),
  /** What a kept phone is worth in use; null where nothing is known of its price. Not in older endings. */
  worth: moneySchema.nullable().optional(),
  /** Days for which what was fitted is promised; 0: nothing is. Not in older endings. */
  promised: z.number().int().min(0).optional(),
  /** The fault that it was; null when nobody knows. */
  fault: z.string().nullable(),
  /** Who says that it was this fault: somebody did, or it is the likeliest that its remedy mends. Not in older endings. */
  label: z.enum(['told', 'guessed']).optional(),
  /** The remedy that mended it, where a trace says. */
  remedy: z.string().nullable(),
  /** Components kept from a stripped phone. */
  parts: z.array(z.string()),
  /** False: said to be unsealed. Null: not a sealed family, or not closed up. */
  sealed: z.boolean().nullable(),
  by: actorSchema,
  /** What the job taught, so that it can be taken back: counts by fault, and by step, fault and outcome. */
  taught: z.object({
    faults: z.array(z.tuple([z.string(), z.number()])),
    outcomes: z.array(z.tuple([z.string(), z.string(), z.string(), z.number()])),
  }),
});
export type Ending = z.infer<typeof endingSchema>;

/** True where somebody said which fault it was. Endings from before that was asked count as told where they name one. */
export const isTold = ({ label, fault }: Pick<Ending, 'label' | 'fault'>): boolean =>
  label === undefined ? fault !== null : label === 'told';

export interface JobRecord {
  /** Counted from 1 in each collective. */
  number: number;
  /** Id of a model that the collective named. */
  model: number | null;
  /** Id of a family of the pack. */
  family: string;
  came: Came;
  price: Money;
  /** Condition, -2 (poor) to 2 (mint). */
  grade: number;
  /** Ids of symptoms. */
  symptoms: string[];
  imeiLast: string | null;
  trace: number | null;
  promise: IntakePromise;
  openedBy: Actor;
  at: Date;
  holder: Actor;
  revision: number;
  ended: { as: EndedAs; at: Date; ending: Ending } | null;
  entries: LoggedEntry[];
}

/** Entries that stand. */
const standing = (job: JobRecord): Entry[] =>
  job.entries.filter(({ struck }) => struck === null).map(({ entry }) => entry);
const ofKind = <K extends Entry['kind']>(job: JobRecord, kind: K): Extract<Entry, { kind: K }>[] =>
  standing(job).filter((entry): entry is Extract<Entry, { kind: K }> => entry.kind === kind);

/** The last answer that stands to each question; null when there is none. */
export function answersOf(job: JobRecord): Record<Question, string | null> {
  const last = (question: Question) =>
    ofKind(job, 'answer').findLast((entry) => entry.question === question)?.answer ?? null;
  return { ownership: last('ownership'), lock: last('lock'), stolen: last('stolen'), data: last('data') };
}

/** The questions that come before money and board work, with what is not good about them. */
export function openQuestions(
  job: JobRecord,
): { question: 'ownership' | 'lock' | 'stolen'; state: 'open' | 'bad' }[] {
  const given = answersOf(job);
  return (['ownership', 'lock', 'stolen'] as const).flatMap((question) => {
    const answer = given[question];
    if (answer === answers[question][0]) return [];
    return [{ question, state: answer === null ? ('open' as const) : ('bad' as const) }];
  });
}

export const jobStates = ['intake', 'held', 'bench', 'testing', 'listed', 'closed'] as const;
export type JobState = (typeof jobStates)[number];

/**
 * Where a job stands: `held` when its phone is dangerous or wet, or an answer is bad, `intake` while one is missing, `testing` once a function has been
 * tested, `listed` when it is offered for sale, `closed` when it has ended; otherwise `bench`.
 */
export function jobStateOf(job: JobRecord, { danger, wet }: Pick<PhoneState, 'danger' | 'wet'>): JobState {
  if (job.ended) return 'closed';
  if (danger !== 'none' || wet === 'wet') return 'held';
  const open = openQuestions(job);
  if (open.some(({ state }) => state === 'bad')) return 'held';
  if (open.length) return 'intake';
  if (listingOf(job)) return 'listed';
  return testsOf(job).size ? 'testing' : 'bench';
}

/** What is asked for it, and since when it is offered; null where it is not. The last word counts. */
export function listingOf({ entries }: Pick<JobRecord, 'entries'>): { asked: Money; since: Date } | null {
  const last = entries.findLast(
    ({ struck, entry }) => struck === null && (entry.kind === 'listed' || entry.kind === 'unlisted'),
  );
  return last?.entry.kind === 'listed' ? { asked: last.entry.asked, since: last.at } : null;
}

/** The last result that stands for each function. */
export function testsOf(job: JobRecord): Map<string, { result: TestResult; reason: string }> {
  return new Map(ofKind(job, 'test').map(({ function: id, result, reason }) => [id, { result, reason }]));
}

/** The traces of a job, the first one first. */
export const tracesOfJob = (job: JobRecord): number[] => [
  ...new Set([...ofKind(job, 'trace').map(({ trace }) => trace), ...(job.trace === null ? [] : [job.trace])]),
];
export const fittedOf = (job: JobRecord) => ofKind(job, 'fitted');

export interface Totals {
  /** The price paid at intake and all that was spent since. */
  out: Money;
  /** What came back, the sale included. */
  back: Money;
  /** What a kept phone is worth in use: no money, and yet not nothing. */
  worth: Money;
  /** back + worth - out. */
  net: Money;
  minutes: number;
}

/** All that went out and came in, and the minutes at the bench. Time is not money here. */
export function totalsOf(job: JobRecord): Totals {
  const { currency } = job.price;
  const sum = (way: 'out' | 'in', start: Money) =>
    ofKind(job, 'money').reduce(
      (total, entry) => (entry.way === way ? addMoney(total, entry.amount) : total),
      start,
    );
  const out = sum('out', job.price);
  const back = sum('in', job.ended?.ending.realised ?? money(0, currency));
  const kept = job.ended?.ending.worth ?? null;
  const worth = kept?.currency === currency ? kept : money(0, currency);
  return {
    out,
    back,
    worth,
    net: money(back.minor + worth.minor - out.minor, currency),
    minutes: ofKind(job, 'minutes').reduce((total, entry) => total + entry.minutes, 0),
  };
}
