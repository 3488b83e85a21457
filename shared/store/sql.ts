import type Sqlite from 'better-sqlite3';
import { z } from 'zod';
import { issueInWords } from '../../knowledge/schema-words.ts';
import { type Money, moneySchema } from '../money/money.ts';

type Value = string | number | null;

/** What is kept for days is not looked for with every reply. */
const LOOKED_AGAIN_MS = 15 * 60_000;

/** Statements against the file. What comes out of it goes through a zod schema; a row that does not fit throws. */
export interface Sql {
  all<T>(schema: z.ZodType<T>, statement: string, ...values: Value[]): T[];
  one<T>(schema: z.ZodType<T>, statement: string, ...values: Value[]): T | null;
  /** The number of rows changed. */
  run(statement: string, ...values: Value[]): number;
  /**
   * Like `run`, for a change after which the text that was there must be gone: once it is committed, the file is written
   * anew and its journal emptied. That takes time in proportion to the file, so it is for what people erase.
   */
  secureErase(statement: string, ...values: Value[]): number;
  /**
   * Like `secureErase`, for what goes because its time is over: nothing while the time may be wrong (`clock-guard.ts`). `secure`
   * false: the file is not written anew for it, and it is looked for once in a quarter of an hour.
   * The last of `values` is the time before which it goes.
   */
  eraseAged(now: Date, statement: string, values: readonly Value[], secure?: boolean): number;
  /** The next number of a numbered kind of record, from 1; none is given twice. */
  nextNumber(collective: number, kind: string): number;
}

/** A row in the file is not what the bot writes: the file was altered, or is torn. Says which, without what is in it. */
class BadRow extends Error {
  readonly code = 'BAD_ROW';
  constructor(statement: string, { path, message }: { path: PropertyKey[]; message: string }) {
    const table = /\b(?:FROM|INTO|UPDATE)\s+(\w+)/.exec(statement)?.[1] ?? 'the store';
    super(`a row of ${table} cannot be read: ${path.map(String).join('.') || 'all of it'}: ${message}`);
    this.name = 'BadRow';
  }
}

function readRow<T>(schema: z.ZodType<T>, row: unknown, statement: string): T {
  const read = schema.safeParse(row, { error: issueInWords });
  if (read.success) return read.data;
  const [issue = { path: [], message: 'not as it should be' }] = read.error.issues;
  throw new BadRow(statement, issue);
}

/**
 * Each statement is compiled once for the life of the connection. `onWipe` is told of each change by `wipe`. `trusts`: whether
 * what is old at a time may be erased; without it nothing is.
 */
export function sqlOn(
  file: Sqlite.Database,
  onWipe: () => void,
  trusts: (now: Date) => boolean = () => false,
): Sql {
  const compiled = new Map<string, Sqlite.Statement<Value[]>>();
  const looked = new Map<string, number>();
  const compile = (statement: string) => {
    let found = compiled.get(statement);
    if (!found) {
      found = file.prepare<Value[]>(statement);
      compiled.set(statement, found);
    }
    return found;
  };
  const sql: Sql = {
    all: (schema, statement, ...values) =>
      compile(statement)
        .all(...values)
        .map((row) => readRow(schema, row, statement)),
    one: (schema, statement, ...values) => {
      const row = compile(statement).get(...values);
      return row === undefined ? null : readRow(schema, row, statement);
    },
    run: (statement, ...values) => compile(statement).run(...values).changes,
    secureErase: (statement, ...values) => {
      const changed = sql.run(statement, ...values);
      if (changed) onWipe();
      return changed;
    },
    eraseAged: (now, statement, values, secure = true) => {
      if (secure) return trusts(now) ? sql.secureErase(statement, ...values) : 0;
      const what = `${statement} ${values.slice(0, -1).join(' ')}`;
      const before = looked.get(what);
      if (before !== undefined && Math.abs(now.getTime() - before) < LOOKED_AGAIN_MS) return 0;
      if (!trusts(now)) return 0;
      looked.set(what, now.getTime());
      return sql.run(statement, ...values);
    },
    nextNumber: (collective, kind) => {
      const next = sql.one(
        numberRow,
        `INSERT INTO counters (collective, kind, last) VALUES (?, ?, 1)
         ON CONFLICT DO UPDATE SET last = last + 1 RETURNING last AS n`,
        collective,
        kind,
      );
      if (!next) throw new Error(`no number for ${kind}`);
      return next.n;
    },
  };
  return sql;
}

/** A row of one number, `n`. */
export const numberRow = z.object({ n: z.number().int() });
/** A time as saved. */
export const timeColumn = z.iso.datetime().transform((text) => new Date(text));

/** JSON in a column, read through a schema. `kept`: what was read before, by its text, for what is read again and again. */
export const jsonColumn = <T>(
  schema: z.ZodType<T>,
  kept?: { get(text: string): NoInfer<T> | undefined; set(text: string, value: NoInfer<T>): unknown },
) =>
  z.string().transform((text, issue) => {
    const before = kept?.get(text);
    if (before !== undefined) return before;
    let value: unknown;
    try {
      value = JSON.parse(text);
    } catch {
      issue.addIssue({ code: 'custom', message: 'not JSON' });
      return z.NEVER;
    }
    const read = schema.safeParse(value, { error: issueInWords });
    if (read.success) {
      kept?.set(text, read.data);
      return read.data;
    }
    for (const { message, path } of read.error.issues) issue.addIssue({ code: 'custom', message, path });
    return z.NEVER;
  });

/** Money from its two columns. */
export const moneyOf = (minor: number, currency: string): Money => moneySchema.parse({ minor, currency });
