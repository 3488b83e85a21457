/** IMEIs in any text: found however they are written, and shown by their last four digits alone. */
import type { SecretWords } from '../../knowledge/secrets.ts';
import { secretIndexOf } from '../notes/secret-index.ts';
import { type SecretToken, secretTokens } from '../notes/secret-tokens.ts';
import { readImei } from './imei.ts';

const SEPARATOR = /^[-–—./,_:·|\\]$/;
const LONGEST = 17;
/** So far before the number the word may stand. */
const WORD_REACH = 4;

/** The digits of a token: those of a number, or of a word for one digit. */
const digitsOf = (token: SecretToken | undefined, words: ReadonlyMap<string, string>): string | undefined =>
  token?.kind === 'number' ? token.text : token && words.get(token.key);

/** What stands between a number and the one before it; '' for a space. */
const markBefore = (tokens: readonly SecretToken[], at: number): string =>
  tokens[at - 1]?.kind === 'mark' ? (tokens[at - 1]?.text ?? '') : '';

/** The end of the IMEI that begins at a token, and its digits. */
function imeiAt(
  tokens: readonly SecretToken[],
  start: number,
  words: ReadonlyMap<string, string>,
): { digits: string; last: SecretToken } | undefined {
  const named = tokens
    .slice(Math.max(0, start - WORD_REACH), start)
    .some(({ key }) => key.startsWith('imei') || key === 'meid');
  let digits = '';
  const marks = new Set<string>();
  let best: { digits: string; last: SecretToken } | undefined;
  for (let at = start; at < tokens.length && digits.length < LONGEST; at += 1) {
    const token = tokens[at];
    if (token?.kind === 'mark' && SEPARATOR.test(token.text) && at > start) continue;
    const more = digitsOf(token, words);
    if (more === undefined || !token) break;
    if (at > start) marks.add(markBefore(tokens, at));
    digits += more;
    const measures = marks.size > 1 && [...marks].some((mark) => /[.,]/.test(mark));
    const isImei = readImei(digits).ok && (digits.length === 15 || named) && (named || !measures);
    // Said to be one, it is masked with a wrong check digit too.
    if (isImei || (named && digits.length >= 13 && digits.length < LONGEST)) best = { digits, last: token };
  }
  return best;
}

/**
 * The text with each IMEI as dots and its last four digits. Found: 15 digits with a right check digit (3GPP TS 23.003, Annex B) in any
 * groups, in digits or in words for them; 13 to 16 digits behind the word. Readings such as `3.98 4.01` are none. Never throws.
 */
export function maskImeis(text: string, words: SecretWords): string {
  // Nearly all texts have too few digits, and no words for so many.
  if (!/\p{Nd}/u.test(text) && text.length < 40) return text;
  const { numbers } = secretIndexOf(words);
  const { tokens } = secretTokens(text, () => false);
  let made = '';
  let kept = 0;
  const vocabularies = numbers.map(({ digits }) => digits);
  for (let at = 0; at < tokens.length; at += 1) {
    const token = tokens[at];
    if (!token || token.kind === 'mark' || token.start < kept) continue;
    const found = vocabularies
      .filter((one) => digitsOf(token, one) !== undefined)
      .map((one) => imeiAt(tokens, at, one))
      .reduce((a, b) => (b && b.digits.length > (a?.digits.length ?? 0) ? b : a), undefined);
    if (!found) continue;
    made += `${text.slice(kept, token.start)}${'•'.repeat(found.digits.length - 4)}${found.digits.slice(-4)}`;
    kept = found.last.end;
  }
  return made + text.slice(kept);
}
