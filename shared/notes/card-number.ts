/** Payment card numbers in a text. */
import type { SecretToken } from './secret-tokens.ts';

/** The Luhn sum of ISO/IEC 7812-1, Annex B: true when it is a multiple of ten. */
export function luhnHolds(digits: string): boolean {
  let sum = 0;
  for (let index = 0; index < digits.length; index += 1) {
    const digit = Number(digits[digits.length - 1 - index]);
    const doubled = index % 2 === 1 ? 2 * digit : digit;
    sum += doubled > 9 ? doubled - 9 : doubled;
  }
  return sum % 10 === 0;
}

/** The groups in which card numbers are written: 4-4-4-4 and longer, 4-6-5, 4-6-4, two halves, or all in one. */
const groupsOfCard = (sizes: readonly number[]): boolean =>
  sizes.length === 1 ||
  (sizes.slice(0, -1).every((size) => size === 4) && sizes.length >= 3) ||
  (sizes.length === 3 && sizes[0] === 4 && sizes[1] === 6) ||
  (sizes.length === 2 && sizes.every((size) => size >= 6));

/**
 * A payment card number: 13 to 19 digits with a right Luhn sum, alone or in groups. Numbers that are told apart from
 * cards: 15 digits, which are an IMEI (its check digit is a Luhn digit too), unless they begin with 34 or 37, where the
 * 15-digit cards are; those that begin with 89, which is telecommunication in ISO/IEC 7812 and begins every SIM card's
 * number (ITU-T E.118); one digit over and over; and what stands behind a word such as IMEI, serial or barcode.
 */
export function hasCardNumber(tokens: readonly SecretToken[], numbered: ReadonlySet<string>): boolean {
  for (let start = 0; start < tokens.length; start += 1) {
    if (tokens[start]?.kind !== 'number') continue;
    const named = tokens.slice(Math.max(0, start - 4), start).some(({ key }) => numbered.has(key));
    if (named) continue;
    let digits = '';
    const sizes: number[] = [];
    for (let at = start; ; ) {
      const token = tokens[at];
      if (token?.kind !== 'number') break;
      digits += token.text;
      sizes.push(token.text.length);
      if (digits.length > 19) break;
      if (digits.length >= 13 && groupsOfCard(sizes) && isCard(digits)) return true;
      at += /^[-–—./·]$/.test(tokens[at + 1]?.text ?? '') ? 2 : 1;
    }
  }
  return false;
}

const isCard = (digits: string): boolean =>
  !/^(\d)\1*$/.test(digits) &&
  !digits.startsWith('89') &&
  (digits.length !== 15 || /^3[47]/.test(digits)) &&
  luhnHolds(digits);
