/** Copies of what was said, beside the place where it is kept: they go with it when words are removed. */
import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { choicePlace } from './choices.ts';
import { requestPlace } from './requests.ts';
import { unseal } from './sealed.ts';
import { markShown, type RemovedBy } from './shown-messages.ts';
import type { Sql } from './sql.ts';

export interface WipedWords {
  /** What was written, as it was typed. */
  texts: readonly string[];
  /** What it was said of, as `job:4`. */
  subject: string;
  /** What else may show it, as the job of a trace. */
  besides?: readonly string[];
  /** Keys of who wrote it; null for entries from before keys were kept. */
  authors: readonly (string | null)[];
  /** What a request that arrives again is answered with, in place of a reply that had the words. */
  instead: unknown;
  removed: RemovedBy;
}

const choiceRow = z.object({
  token: z.string(),
  person: z.string().nullable(),
  label: z.string(),
  subject: z.string().nullable(),
  invoke: z.string(),
});
const requestRow = z.object({ id: z.string(), reply: z.string() });
const eventRow = z.object({
  subject: z.string(),
  number: z.number().int(),
  seq: z.number().int(),
  ref: z.string(),
});
const learnedRow = z.object({ phrase: z.string(), by_key: z.string().nullable() });

/** Letters and digits alone: quotation marks, line breaks and how JSON writes them do not count. */
const bare = (text: string): string =>
  text
    .replace(/\\+[nrtu"]/g, ' ')
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]/gu, '');
/** A text that was cut short still begins so. */
const BEGINNING = 16;
/** One or two letters, as of a drawer, stand in everything: what they are looked for in is the record's own. */
const isTelling = (sought: string): boolean => sought.length > 2 || /[^a-z0-9]/.test(sought);

/**
 * Removes saved choices that hold the words, or were offered to who wrote them or for what they were written of; replaces kept
 * replies that hold them, since their requests were answered; forgets what they taught; and has weekly posts that repeat
 * them put right, as the messages in chat that may show them. What cannot be opened, since its key is gone, goes too.
 */
export function wipeCopies(
  sql: Sql,
  sealer: Sealer,
  collective: number,
  { texts, subject, besides = [], authors, instead, removed }: WipedWords,
): Record<string, number> {
  const subjects = [subject, ...besides];
  const sought = texts.map((text) => bare(text).slice(0, BEGINNING)).filter(isTelling);
  const holds = (text: string): boolean => {
    const all = bare(text);
    return sought.some((one) => all.includes(one));
  };
  for (const { token, person, label, subject: of, invoke } of sql.all(
    choiceRow,
    'SELECT token, person, label, subject, invoke FROM choices WHERE collective = ?',
    collective,
  )) {
    const opened = unseal(sealer, choicePlace(token), invoke);
    const near = (of !== null && subjects.includes(of)) || (person !== null && authors.includes(person));
    if (near || opened === null || holds(opened) || holds(label))
      sql.secureErase('DELETE FROM choices WHERE collective = ? AND token = ?', collective, token);
  }
  const shown = [...subjects];
  for (const { id, reply } of sql.all(
    requestRow,
    'SELECT id, reply FROM requests WHERE collective = ?',
    collective,
  )) {
    const place = requestPlace(collective, id);
    const opened = unseal(sealer, place, reply);
    if (opened !== null && !holds(opened)) continue;
    shown.push(`request:${id}`);
    sql.secureErase(
      'UPDATE requests SET reply = ? WHERE collective = ? AND id = ?',
      sealer.seal(place, JSON.stringify(instead)),
      collective,
      id,
    );
  }
  const all = texts.map(bare);
  for (const one of subjects) forgetInEvents(sql, collective, one, all);
  for (const { phrase, by_key } of sql.all(
    learnedRow,
    'SELECT phrase, by_key FROM learned_words WHERE collective = ?',
    collective,
  )) {
    if (!authors.includes(by_key) || !all.some((one) => one.includes(bare(phrase)))) continue;
    sql.secureErase(
      'DELETE FROM learned_words WHERE collective = ? AND phrase = ? AND by_key IS ?',
      collective,
      phrase,
      by_key,
    );
  }
  for (const text of texts) forgetInPosts(sql, collective, text);
  return markShown(sql, collective, shown, texts, removed);
}

/** What of the words told of a danger of the phone: the danger stays, the words go. */
function forgetInEvents(sql: Sql, collective: number, of: string, bareTexts: readonly string[]): void {
  const [kind = '', number = ''] = of.split(':');
  for (const { subject, number: at, seq, ref } of sql.all(
    eventRow,
    `SELECT subject, number, seq, event ->> '$.ref' AS ref FROM phone_events
     WHERE collective = ? AND subject = ? AND number = ? AND event ->> '$.ground' = 'words'`,
    collective,
    kind,
    Number(number),
  )) {
    if (!bareTexts.some((one) => one.includes(bare(ref)))) continue;
    sql.secureErase(
      `UPDATE phone_events SET event = json_set(event, '$.ref', '')
       WHERE collective = ? AND subject = ? AND number = ? AND seq = ?`,
      collective,
      subject,
      at,
      seq,
    );
  }
}

/** Empties the mark of each weekly post that has these words: the clock puts such a post right while it still can. */
export const forgetInPosts = (sql: Sql, collective: number, words: string): void => {
  sql.secureErase(
    "UPDATE week_posts SET said = '' WHERE collective = ? AND instr(said, ?) > 0",
    collective,
    JSON.stringify(words).slice(1, -1),
  );
};
