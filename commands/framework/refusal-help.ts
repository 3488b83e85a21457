/** What a refusal shows besides its reason: the caret, the usage, and what was typed, without numbers and secrets. */

import type { SecretWords } from '../../knowledge/secrets.ts';
import { typed } from '../../shared/language/say.ts';
import { findSecret } from '../../shared/notes/secrets.ts';
import { type Action, type Command, usage } from './command.ts';
import type { Parsed } from './parse.ts';
import { Refusal, type RefusalDetail } from './refusal.ts';
import type { Draft } from './reply.ts';

/** Puts the caret under the option that was wrong, or behind the end of the line where one is missing. */
export function pointedAt(detail: RefusalDetail, line: string, { spans }: Parsed): RefusalDetail {
  if (detail.option === undefined || detail.line !== undefined) return detail;
  const { from, to } = spans[detail.option] ?? { from: line.length, to: line.length + 1 };
  return { ...detail, line, from, to };
}

/** A refusal without advice of its own gets the usage, and the first example of what was tried. */
export function withHelp(
  command: Command,
  name: string,
  action: Action,
  shown: (example: string) => string | null,
  work: () => Draft,
): Draft {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    const { example: own, ...detail } = error.detail;
    const example = [...(own === undefined ? [] : [own]), ...action.examples].map(shown).find(Boolean);
    throw new Refusal({
      ...detail,
      expected: error.detail.expected ?? typed(usage(command, name)),
      ...(example ? { example } : {}),
    });
  }
}

/** An IMEI, or another number as long, is not repeated: each digit but the last four becomes a dot, so that a caret still fits. */
const withoutLongNumbers = (text: string): string =>
  text.replace(/\d(?:[ ./-]?\d){12,}/g, (number) => {
    let left = number.replace(/\D/g, '').length - 4;
    return number.replace(/\d/g, (digit) => {
      left -= 1;
      return left >= 0 ? '•' : digit;
    });
  });

/** What was typed, repeated: characters that could hide or turn text are replaced, one for one. */
export const shownSafely = (text: string): string =>
  withoutLongNumbers(text).replace(/[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/gu, '\uFFFD');

/** What stands between quotation marks is what was typed. */
export const withoutQuotes = (title: string): string => title.replace(/(["“„«])[\s\S]*(["”“»])/, '$1…$2');

/** A secret that was typed is not repeated, whatever the line was refused for. */
export const visible = ({ line, ...detail }: RefusalDetail, secrets: SecretWords): RefusalDetail => ({
  ...detail,
  ...(line === undefined || findSecret(line, secrets) ? {} : { line: shownSafely(line) }),
  ...(detail.nearest === undefined ? {} : { nearest: detail.nearest.map(shownSafely) }),
});
