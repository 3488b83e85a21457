import type { Message } from '../language/message.ts';
import { say } from '../language/say.ts';

/**
 * IMEI: the number that a phone goes by on the network. Structure and check digit from 3GPP TS 23.003, clause 6 and Annex B
 * (which refers to ISO/IEC 7812-1 for the method).
 */
export interface Imei {
  /** All 15 digits, check digit last. */
  digits: string;
  /** Type Allocation Code: the first eight digits, which say the model. */
  tac: string;
  /** What may be shown. */
  lastFour: string;
  /** What was typed: an IMEI; one with its software version (16 digits, no check digit); or one without its check digit. */
  form: 'imei' | 'imeisv' | 'without-check-digit';
}
export type ImeiResult = { ok: true; imei: Imei } | { ok: false; problem: Message; expected: Message };

const EXPECTED = say`the 15 digits that *#06# shows, or those on the tray, the box or the label`;

/**
 * The check digit of 14 digits: every second digit from the right is doubled, the digits of the doubled ones and the
 * others are added up, and the check digit brings the sum to a multiple of ten. RangeError unless given 14 digits.
 */
export function checkDigit(payload: string): number {
  if (!/^\d{14}$/.test(payload)) throw new RangeError('the check digit is computed from 14 digits');
  const sum = [...payload].reduce((total, text, index) => {
    const digit = Number(text);
    if (index % 2 === 0) return total + digit;
    const doubled = 2 * digit;
    return total + Math.floor(doubled / 10) + (doubled % 10);
  }, 0);
  return (10 - (sum % 10)) % 10;
}

const read = (payload: string, form: Imei['form']): ImeiResult => {
  const digits = `${payload}${checkDigit(payload)}`;
  return { ok: true, imei: { digits, tac: payload.slice(0, 8), lastFour: digits.slice(-4), form } };
};
const refuse = (problem: Message, expected = EXPECTED): ImeiResult => ({ ok: false, problem, expected });

/**
 * Reads what a person typed: 15 digits, 16 (IMEISV: the last two are the software version), or 14 (the check digit is
 * added); spaces, hyphens, slashes and dots may stand between. What it says never repeats the number.
 */
export function readImei(text: string): ImeiResult {
  if (!/^[\d\s./-]*$/.test(text)) return refuse(say`an IMEI is digits alone`);
  const digits = text.replace(/\D/g, '');
  if (digits.length < 14 || digits.length > 16)
    return refuse(say`${digits.length} digits are no IMEI, which has 15`);
  const payload = digits.slice(0, 14);
  // The sum holds for zeros alone, and for other single digits it may: a number that nobody was given.
  if (/^(\d)\1*$/.test(payload)) return refuse(say`one digit over and over is a placeholder, no IMEI`);
  if (digits.length === 16) return read(payload, 'imeisv');
  if (digits.length === 14) return read(payload, 'without-check-digit');
  if (checkDigit(payload) === Number(digits[14])) return read(payload, 'imei');
  return refuse(
    digits.endsWith('0')
      ? say`the check digit is wrong: a digit was misread, or it was copied from a network log, where the last one is sent as 0`
      : say`the check digit is wrong: a digit was misread, or two were swapped`,
  );
}
