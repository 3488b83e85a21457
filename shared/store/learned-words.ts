/** What people's own words mean in a collective: what was put right when the bot asked whether it had read them right. */
import { z } from 'zod';
import type { Actor } from '../people/actor.ts';
import type { Sql } from './sql.ts';

interface LearnedWord {
  /** Folded words, a space between each. */
  phrase: string;
  /** Such as `symptom:dead`. */
  meaning: string;
  /** It was read so, and somebody took it out. */
  taken: boolean;
}

const row = z.object({
  phrase: z.string(),
  meaning: z.string(),
  taken: z.number().transform((flag) => flag === 1),
});

/** So many are kept; the oldest go first. */
const MOST = 500;

export interface LearnedWords {
  /** The newest first. */
  list(): LearnedWord[];
  /** What was said last of a phrase and a meaning holds. */
  learn(word: LearnedWord, by: Actor, at: Date): void;
}

export const learnedWordsOf = (sql: Sql, collective: number): LearnedWords => ({
  list: () =>
    sql.all(
      row,
      'SELECT phrase, meaning, taken FROM learned_words WHERE collective = ? ORDER BY at DESC, phrase, meaning',
      collective,
    ),
  learn: ({ phrase, meaning, taken }, by, at) => {
    sql.run(
      `INSERT INTO learned_words (collective, phrase, meaning, taken, by, by_key, at) VALUES (?, ?, ?, ?, ?, ?, ?)
       ON CONFLICT (collective, phrase, meaning)
       DO UPDATE SET taken = excluded.taken, by = excluded.by, by_key = excluded.by_key, at = excluded.at`,
      collective,
      phrase,
      meaning,
      taken ? 1 : 0,
      by.name,
      by.key,
      at.toISOString(),
    );
    sql.run(
      `DELETE FROM learned_words WHERE collective = ? AND rowid NOT IN
       (SELECT rowid FROM learned_words WHERE collective = ? ORDER BY at DESC LIMIT ?)`,
      collective,
      collective,
      MOST,
    );
  },
});
