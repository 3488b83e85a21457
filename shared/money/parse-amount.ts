import type { Message } from '../language/message.ts';
import { say, typed, verbatim } from '../language/say.ts';
import { isCurrency, minorDigits } from './currency.ts';
import type { Money } from './money.ts';
import { toDecimal, unitsHalfEven } from './rounding.ts';

export type AmountResult =
  | { ok: true; money: Money }
  | {
      ok: false;
      problem: Message;
      expected: Message;
      /** What it can mean, where that is two things, the likelier first: to be asked. */
      either?: readonly [Money, Money];
    };

export interface AmountOptions {
  /** Accept a leading minus sign; default false. */
  allowNegative?: boolean;
  /**
   * What a comma does: it groups thousands and a point divides ("1,250.00", the default), or it divides and a point groups, as
   * German and French write ("1.250,00").
   */
  comma?: 'groups' | 'divides';
}

/** The largest amount a person may type, in major units. */
const LARGEST = 1_000_000_000n;
const LONGEST_TEXT = 40;

/**
 * Signs that many currencies share: where one of these is used, its people mean theirs by it, and whoever means another says
 * which. From memory of common usage.
 */
const SHARED: Readonly<Record<string, readonly string[]>> = {
  $: [
    'AUD',
    'BMD',
    'BBD',
    'BZD',
    'CAD',
    'CLP',
    'COP',
    'FJD',
    'HKD',
    'JMD',
    'MXN',
    'NZD',
    'SGD',
    'TTD',
    'TWD',
    'USD',
  ],
  '¥': ['CNY', 'JPY'],
  KR: ['DKK', 'ISK', 'NOK', 'SEK'],
};

/** Signs that a person writing in that currency can only mean that currency by. From memory of common usage. */
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
 * Reads an amount that a person typed, in the currency given: "60", "60.5", "1,250.00", "AUD 60", "60 aud", and a sign before
 * or behind it that means this currency ("€60", "20 €", "$20" where dollars are paid in). With `comma: 'divides'` also "20,50"
 * and "1.250,00"; a comma before three digits is then asked, since it groups elsewhere, and a point before one or two divides.
 * Refuses, with what was wrong and what would be right: a negative amount (unless allowed), another currency, more decimals
 * than the currency has, more than 1e9 major units, and everything that is not a plain decimal (exponents, hexadecimal,
 * letters, controls). Throws RangeError only if `currency` itself is unknown.
 */
export function parseAmount(text: string, currency: string, options: AmountOptions = {}): AmountResult {
  const digits = minorDigits(currency);
  const divides = options.comma === 'divides';
  const sample = digits === 0 ? '60' : `60${divides ? ',' : '.'}${'5'.padEnd(digits, '0')}`;
  const long = divides ? `1.250 ${currency}` : `${currency} 1,250`;
  const expected = say`an amount in ${typed(currency)} such as ${typed(sample)} or ${typed(long)}`;
  const refuse = (problem: Message): AmountResult => ({ ok: false, problem, expected });

  if (text.length > LONGEST_TEXT) return refuse(say`the amount is longer than ${LONGEST_TEXT} characters`);
  if (/\p{C}/u.test(text)) return refuse(say`the amount holds a control character`);
  const trimmed = text.trim();
  if (trimmed === '') return refuse(say`the amount is empty`);

  const parts = /^([^\d.,+\s-]*)\s*(-?[\d.,]+)\s*(\p{L}*|\p{L}{0,2}\p{Sc})$/u.exec(trimmed);
  if (parts === null) return refuse(say`"${verbatim(trimmed)}" is not an amount`);
  const [, before = '', number = '', after = ''] = parts;
  if (before !== '' && after !== '') return refuse(say`the currency is written twice`);
  const mark = (before || after).toUpperCase();
  const meant = mark === '' || isShared(mark, currency) ? currency : signOf(mark);
  if (meant !== currency) {
    if (isCurrency(meant)) return refuse(say`the amount is in ${typed(meant)}, not in ${typed(currency)}`);
    return refuse(say`"${verbatim(before || after)}" does not say which currency is meant`);
  }

  const plain = divides ? pointed(number) : plainly(number);
  if (plain === null) {
    return refuse(
      number.includes(',') && !divides
        ? say`"${verbatim(number)}" is not a plain decimal number: a comma only groups thousands, the decimal mark is a point`
        : say`"${verbatim(number)}" is not a plain decimal number`,
    );
  }
  if (plain.startsWith('-') && options.allowNegative !== true) return refuse(say`the amount is negative`);
  // "1,250": in a language that divides by the comma others still group by it.
  const shortest = plain.replace(/\.?0*$/, '');
  if (divides && /^-?[1-9]\d{0,2},\d{3}$/.test(number) && toDecimal(shortest).scale <= digits) {
    const amount = (decimal: string): Money => ({ minor: Number(unitsHalfEven(decimal, digits)), currency });
    const grouped = amount(number.replace(',', ''));
    const problem = say`"${verbatim(number)}" can be a whole number or have decimals`;
    return { ok: false, problem, expected, either: [amount(plain), grouped] };
  }
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

const isShared = (mark: string, currency: string): boolean =>
  Object.hasOwn(SHARED, mark) && (SHARED[mark]?.includes(currency) ?? false);
const signOf = (mark: string): string => (Object.hasOwn(SIGNS, mark) ? (SIGNS[mark] ?? mark) : mark);

/** "1,250.00" as a plain decimal; null when it is not written so. */
const plainly = (number: string): string | null =>
  /^-?(\d{1,3}(,\d{3})+|\d+)(\.\d+)?$/.test(number) ? number.replaceAll(',', '') : null;

/** "1.250,00" as a plain decimal; "20.5" too, since a point before one or two digits groups nothing. Else null. */
function pointed(number: string): string | null {
  if (/^-?(\d{1,3}(\.\d{3})+|\d+)(,\d+)?$/.test(number)) return number.replaceAll('.', '').replace(',', '.');
  return /^-?\d+\.\d{1,2}$/.test(number) ? number : null;
}
