import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { unseal } from './sealed.ts';
import { jsonColumn, type Sql, timeColumn } from './sql.ts';

/** What a choice runs: a command's name, an action's, and the options as text. */
const invokeSchema = z.object({
  command: z.string(),
  action: z.string(),
  options: z.record(z.string(), z.string()),
});

/** A continuation that was offered with a reply, and works after a restart. */
interface SavedChoice {
  /** Cannot be guessed. */
  token: string;
  /** Key of the person it is for; null: anyone. */
  person: string | null;
  label: string;
  invoke: z.infer<typeof invokeSchema>;
  /** What it was offered for, such as `trace:3`, and the revision that had then. */
  subject: string | null;
  revision: number | null;
  made: Date;
  /** When it was last taken. */
  used: Date | null;
}

const columns = 'token, person, label, invoke, subject, revision, made, used';
const choiceRow = z.object({
  token: z.string(),
  person: z.string().nullable(),
  label: z.string(),
  invoke: z.string(),
  subject: z.string().nullable(),
  revision: z.number().int().nullable(),
  made: timeColumn,
  used: timeColumn.nullable(),
});

const invokeJson = jsonColumn(invokeSchema);
export const choicePlace = (token: string): string => `choice:${token}`;

const KEPT_MS = 60 * 24 * 3600 * 1000;

export interface Choices {
  /** Saves them, and drops those of any collective that are more than 60 days older. */
  save(choices: readonly Omit<SavedChoice, 'used' | 'made'>[], made: Date): void;
  /** The choice of a token, marked as used; null when there is none, or its key is gone. */
  take(token: string, at: Date): SavedChoice | null;
}

export const choicesOf = (sql: Sql, sealer: Sealer, collective: number): Choices => ({
  save: (choices, made) => {
    sql.eraseAged(
      made,
      'DELETE FROM choices WHERE made < ?',
      [new Date(made.getTime() - KEPT_MS).toISOString()],
      false,
    );
    for (const { token, person, label, invoke, subject, revision } of choices) {
      sql.run(
        `INSERT INTO choices (collective, ${columns}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, NULL)`,
        collective,
        token,
        person,
        label,
        // What a choice runs may hold what its asker alone may see.
        sealer.seal(choicePlace(token), JSON.stringify(invokeSchema.parse(invoke))),
        subject,
        revision,
        made.toISOString(),
      );
    }
  },
  take: (token, at) => {
    const row = sql.one(
      choiceRow,
      `UPDATE choices SET used = ? WHERE collective = ? AND token = ? RETURNING ${columns}`,
      at.toISOString(),
      collective,
      token,
    );
    const invoke = row && unseal(sealer, choicePlace(token), row.invoke);
    return row && invoke !== null ? { ...row, invoke: invokeJson.parse(invoke) } : null;
  },
});
