import { createHash, randomInt } from 'node:crypto';
import { z } from 'zod';
import { channelBindingsOf } from './channel-bindings.ts';
import type { Sql } from './sql.ts';

/** How long a word is good for. */
export const LINK_MINUTES = 15;

// Letters and digits that nobody takes for one another; 32 of them, so that each adds 5 bits.
const LETTERS = 'ABCDEFGHJKLMNPQRSTUVWXYZ23456789';
const GROUPS = 3;
const GROUP = 4;

const newWord = (): string =>
  Array.from({ length: GROUPS }, () =>
    Array.from({ length: GROUP }, () => LETTERS[randomInt(LETTERS.length)]).join(''),
  ).join('-');

// 60 random bits that live for minutes: a plain hash is enough, nothing can be tried in that time.
const hashOf = (word: string): string =>
  createHash('sha256')
    .update(`thirdhand link ${word.toUpperCase().replace(/[^A-Z0-9]/g, '')}`)
    .digest('hex');

const collectiveRow = z.object({ id: z.number().int(), name: z.string() });
const heldRow = z.object({ jobs: z.number().int(), prices: z.number().int(), traces: z.number().int() });

/** Another place's collective, by the word that one of its stewards gave. */
export interface Linked {
  id: number;
  name: string;
}

/** Words that tie a place on another platform to a collective. Only a hash of each is kept. */
export interface LinkWords {
  /** A new word for this collective: good once, for 15 minutes. Words that have run out are dropped. */
  give(by: string, at: Date): string;
  /** The collective that gave the word; null when there is no such word, or it has run out. It stays good. */
  find(word: string, at: Date): Linked | null;
  /** Uses the word up, and moves the place to the collective that gave it. Null, and nothing is done, as in `find`. */
  join(word: string, place: { platform: string; id: string }, at: Date): Linked | null;
  /** What this collective has of its own. */
  held(): z.infer<typeof heldRow>;
}

/** Which collective a word is of; for a place that belongs to none yet. */
export function findLink(sql: Sql, word: string, at: Date): Linked | null {
  return sql.one(
    collectiveRow,
    `SELECT c.id, c.name FROM link_words w JOIN collectives c ON c.id = w.collective WHERE w.hash = ? AND w.at > ?`,
    hashOf(word),
    new Date(at.getTime() - LINK_MINUTES * 60_000).toISOString(),
  );
}

export function linkWordsOf(sql: Sql, collective: number): LinkWords {
  const places = channelBindingsOf(sql);
  return {
    give: (by, at) => {
      sql.eraseAged(
        at,
        'DELETE FROM link_words WHERE at <= ?',
        [new Date(at.getTime() - LINK_MINUTES * 60_000).toISOString()],
        false,
      );
      const word = newWord();
      sql.run(
        'INSERT INTO link_words (hash, collective, by, at) VALUES (?, ?, ?, ?)',
        hashOf(word),
        collective,
        by,
        at.toISOString(),
      );
      return word;
    },
    find: (word, at) => findLink(sql, word, at),
    join: (word, { platform, id }, at) => {
      const linked = findLink(sql, word, at);
      if (!linked) return null;
      sql.run('DELETE FROM link_words WHERE hash = ?', hashOf(word));
      const kind = places.bindingOf(platform, id)?.kind ?? 'room';
      places.bind({ platform, id, collective: linked.id, kind }, at);
      return linked;
    },
    held: () => {
      const held = sql.one(
        heldRow,
        `SELECT (SELECT count(*) FROM jobs WHERE collective = c.id) AS jobs,
           (SELECT count(*) FROM sightings WHERE collective = c.id) AS prices,
           (SELECT count(*) FROM traces WHERE collective = c.id) AS traces
         FROM collectives c WHERE c.id = ?`,
        collective,
      );
      if (!held) throw new Error(`there is no collective ${collective}`);
      return held;
    },
  };
}
