import type { Message } from '../language/messages.ts';
import { say, typed, verbatim } from '../language/say.ts';
import { isCurrency, minorDigits } from './currency.ts';
import type { Money } from './money.ts';
import { toDecimal, unitsHalfEven } from './rounding.ts';

export type AmountResult = { ok: true; money: Money } | { ok: false; problem: Message; expected: Message };

export interface AmountOptions {
  /** Accept a leading minus sign; default false. */
  allowNegative?: boolean;
}

/** The largest amount a person may type, in major units. */
const LARGEST = 1_000_000_000n;
const LONGEST_TEXT = 40;

/**
 * Signs that a person writing in that currency can only mean that currency by. A bare "$", "¥" or "kr" is shared by many
 * currencies that are in use side by side, so it is refused for all of them. From memory of common usage.
 */
const SIGNS: Readonly<Record<string, string>> = {
  '€': 'EUR',
  '£': 'GBP',
  '₹': 'INR',
  '₩': 'KRW',
  '₫': 'VND',
  '₺': 'TRY',
  '₴': 'UAH',
  '₪': 'ILS',
  '฿': 'THB',
  '₱': 'PHP',
  '₦': 'NGN',
  A$: 'AUD',
  C$: 'CAD',
  HK$: 'HKD',
  NT$: 'TWD',
  NZ$: 'NZD',
  R$: 'BRL',
  S$: 'SGD',
  US$: 'USD',
};

/**
 * Reads an amount that a person typed, in the currency given: "60", "60.5", "1,250.00", "AUD 60", "60 aud", and a leading
 * sign that means this currency alone ("€60"). A comma groups thousands and nothing else. Refuses, with what was wrong
 * and what would be right: a negative amount (unless allowed), another currency, more decimals than the currency has,
 * more than 1e9 major units, and everything that is not a plain decimal (exponents, hexadecimal, letters, controls).
 * Throws RangeError only if `currency` itself is unknown.
 */
export function parseAmount(text: string, currency: string, options: AmountOptions = {}): AmountResult {
  const digits = minorDigits(currency);
  const sample = digits === 0 ? '60' : `60.${'5'.padEnd(digits, '0')}`;
  const expected = say`an amount in ${typed(currency)} such as ${typed(sample)} or ${typed(`${currency} 1,250`)}`;
  const refuse = (problem: Message): AmountResult => ({ ok: false, problem, expected });

  if (text.length > LONGEST_TEXT) return refuse(say`the amount is longer than ${LONGEST_TEXT} characters`);
  if (/\p{C}/u.test(text)) return refuse(say`the amount holds a control character`);
  const trimmed = text.trim();
  if (trimmed === '') return refuse(say`the amount is empty`);

  const parts = /^([^\d.,+\s-]*)\s*(-?[\d.,]+)\s*(\p{L}*)$/u.exec(trimmed);
  if (parts === null) return refuse(say`"${verbatim(trimmed)}" is not an amount`);
  const [, before = '', number = '', after = ''] = parts;
  if (before !== '' && after !== '') return refuse(say`the currency is written twice`);
  const mark = before || after;
  const meant = mark === '' ? currency : (SIGNS[before.toUpperCase()] ?? mark.toUpperCase());
  if (meant !== currency) {
    if (isCurrency(meant)) return refuse(say`the amount is in ${typed(meant)}, not in ${typed(currency)}`);
    return refuse(say`"${verbatim(mark)}" does not say which currency is meant`);
  }

  if (!/^-?(\d{1,3}(,\d{3})+|\d+)(\.\d+)?$/.test(number)) {
    return refuse(
      number.includes(',')
        ? say`"${verbatim(number)}" is not a plain decimal number: a comma only groups thousands, the decimal mark is a point`
        : say`"${verbatim(number)}" is not a plain decimal number`,
    );
  }
  const plain = number.replaceAll(',', '');
  if (plain.startsWith('-') && options.allowNegative !== true) return refuse(say`the amount is negative`);
  if (toDecimal(plain).scale > digits) {
    return refuse(
      digits === 0
        ? say`${typed(currency)} has no decimals`
        : say`${typed(currency)} has only ${digits} decimals`,
    );
  }
  const minor = unitsHalfEven(plain, digits);
  const limit = LARGEST * 10n ** BigInt(digits);
  if (minor > limit || minor < -limit) return refuse(say`the amount is more than 1,000,000,000`);
  return { ok: true, money: { minor: Number(minor), currency } };
}
