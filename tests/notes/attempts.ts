/** Attempts at secrets and innocent notes, from the files beside this one. */
import { readFileSync } from 'node:fs';

export interface SecretAttempt {
  /** As `en`. */
  language: string;
  isSecret: boolean;
  text: string;
}

export const secretAttempts = (half: 'held-out' | 'developing'): SecretAttempt[] =>
  readFileSync(new URL(`./${half}.tsv`, import.meta.url), 'utf8')
    .split('\n')
    .filter((line) => line !== '' && !line.startsWith('#'))
    .map((line) => {
      const [language = '', kind = '', text = ''] = line.split('\t');
      return { language, isSecret: kind === 'secret', text };
    });
