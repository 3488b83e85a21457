/** What can be written in a job: entries, only ever added. */
import { z } from 'zod';
import { partGrades, quantities } from '../../knowledge/schema.ts';
import { moneySchema } from '../money/money.ts';
import { type Actor, actorSchema } from '../people/actor.ts';

/** The three questions before money is spent, and whose consent the data on the phone has. */
export const questions = ['ownership', 'lock', 'stolen', 'data'] as const;
export type Question = (typeof questions)[number];

/** The words of NIST SP 800-88 for erasing, and what else can become of what is on a phone. */
const dataAnswers = ['consent', 'clear', 'purge', 'destroy', 'owner-keeps', 'stays-here', 'refused'] as const;
export const answers = {
  ownership: ['shown', 'not-shown'],
  lock: ['free', 'locked'],
  stolen: ['clear', 'listed'],
  data: dataAnswers,
} as const;

export const moneyPurposes = ['part', 'shipping', 'consumables', 'sale', 'other'] as const;
export const testResults = ['pass', 'fail', 'waived'] as const;
export type TestResult = (typeof testResults)[number];

/** What a job can wait for: a part on order, its owner, a cell that charges, anything else. */
export const waitsFor = ['part', 'owner', 'charge', 'other'] as const;

const grade = z.enum(partGrades);

export const entrySchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('money'),
    way: z.enum(['out', 'in']),
    amount: moneySchema,
    purpose: z.enum(moneyPurposes),
    component: z.string().nullable(),
    grade: grade.nullable(),
    /** The part of the shelf that it was paid for. */
    part: z.number().int().optional(),
  }),
  /** At the bench. */
  z.object({ kind: z.literal('minutes'), minutes: z.number().int().min(1).max(6000) }),
  z.object({ kind: z.literal('reading'), value: z.number(), unit: z.enum(quantities), of: z.string() }),
  z.object({
    kind: z.literal('fitted'),
    component: z.string(),
    grade,
    /** Its number on the shelf, where it came from there. */
    part: z.number().int().optional(),
  }),
  z.object({ kind: z.literal('trace'), trace: z.number().int() }),
  z.object({ kind: z.literal('said'), text: z.string() }),
  /** Something odd that somebody noticed of this phone: the next owner is told. */
  z.object({ kind: z.literal('oddity'), text: z.string() }),
  z.object({ kind: z.literal('answer'), question: z.enum(questions), answer: z.string(), note: z.string() }),
  z.object({
    kind: z.literal('test'),
    function: z.string(),
    result: z.enum(testResults),
    reason: z.string(),
  }),
  z.object({
    kind: z.literal('waiting'),
    for: z.enum(waitsFor),
    until: z.string().nullable(),
    note: z.string(),
  }),
  z.object({ kind: z.literal('resumed') }),
  /** Offered for sale, and taken off again. */
  z.object({ kind: z.literal('listed'), asked: moneySchema }),
  z.object({ kind: z.literal('unlisted') }),
  /** The phone came back after it was finished: it goes on in another job. */
  z.object({ kind: z.literal('came-back'), failed: z.array(z.string()), job: z.number().int() }),
  /** This is the phone of an earlier job. */
  z.object({ kind: z.literal('came-from'), failed: z.array(z.string()), job: z.number().int() }),
  z.object({ kind: z.literal('timer-started') }),
  z.object({ kind: z.literal('timer-stopped') }),
  z.object({ kind: z.literal('handed'), from: actorSchema, to: actorSchema }),
  z.object({ kind: z.literal('finished'), as: z.string() }),
  z.object({ kind: z.literal('reopened'), why: z.string() }),
]);
export type Entry = z.infer<typeof entrySchema>;

export interface LoggedEntry {
  /** From 1 within its job. */
  seq: number;
  entry: Entry;
  by: Actor;
  at: Date;
  struck: { by: Actor; at: Date; why: string } | null;
  /** Who removed its words; they are empty then. */
  wiped: { by: Actor; at: Date } | null;
}

/** What somebody wrote in an entry in their own words; empty where nobody did. */
export function wordsOfEntry({ entry, struck }: Pick<LoggedEntry, 'entry' | 'struck'>): string[] {
  const own =
    entry.kind === 'said' || entry.kind === 'oddity'
      ? entry.text
      : entry.kind === 'answer' || entry.kind === 'waiting'
        ? entry.note
        : entry.kind === 'test'
          ? entry.reason
          : entry.kind === 'reading'
            ? entry.of
            : entry.kind === 'reopened'
              ? entry.why
              : '';
  return [own, struck?.why ?? ''].filter((text) => text !== '');
}

/** The entry without them. */
export function withoutWords(entry: Entry): Entry {
  switch (entry.kind) {
    case 'said':
    case 'oddity':
      return { ...entry, text: '' };
    case 'answer':
    case 'waiting':
      return { ...entry, note: '' };
    case 'test':
      return { ...entry, reason: '' };
    case 'reading':
      return { ...entry, of: '' };
    case 'reopened':
      return { ...entry, why: '' };
    default:
      return entry;
  }
}

/** Kinds that are the job's history rather than a claim: they cannot be struck out. */
export const isHistory = ({ kind }: Entry): boolean =>
  kind === 'handed' ||
  kind === 'finished' ||
  kind === 'reopened' ||
  kind === 'came-back' ||
  kind === 'came-from';
