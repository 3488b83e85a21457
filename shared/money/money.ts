import { z } from 'zod';
import type { Message } from '../language/message.ts';
import { formatted } from '../language/say.ts';
import { isCurrency, minorDigits } from './currency.ts';
import { toDecimal, unitsHalfEven, unitsToText } from './rounding.ts';

/** An amount of money: a safe integer of minor units (cents for AUD, yen for JPY) of an ISO 4217 currency. */
export interface Money {
  minor: number;
  currency: string;
}

/** An ISO 4217 alphabetic code, in capitals. */
export const currencySchema = z
  .string()
  .refine(isCurrency, { error: 'expected an ISO 4217 currency code in capitals, such as AUD' });

export const moneySchema = z.object({ minor: z.int(), currency: currencySchema });

/** Money as it travels in data and exports: `{amount: "60.00", currency: "AUD"}`, with exactly the currency's decimals. */
export const moneyWire = z
  .object({ amount: z.string().max(20), currency: currencySchema })
  .refine(isExactWire, {
    path: ['amount'],
    error: 'expected a plain decimal with exactly the decimals of its currency, such as "60.00" for AUD',
  });
export type MoneyWire = z.infer<typeof moneyWire>;

function isExactWire(wire: { amount: string; currency: string }): boolean {
  if (!isCurrency(wire.currency) || !/^-?\d+(\.\d+)?$/.test(wire.amount)) return false;
  const { units } = toDecimal(wire.amount);
  // Written with the currency's decimals it must be the same text, so it had just those.
  return (
    Number.isSafeInteger(Number(units)) && unitsToText(units, minorDigits(wire.currency)) === wire.amount
  );
}

/** Money from whole minor units. Throws RangeError outside the safe integers or for an unknown currency. */
export function money(minor: number | bigint, currency: string): Money {
  minorDigits(currency);
  const value = Number(minor);
  if (!Number.isSafeInteger(value)) throw new RangeError(`not a whole, safe number of minor units: ${minor}`);
  return { minor: value === 0 ? 0 : value, currency };
}

/** Money from a computed number of major units (dollars), ties to even. Throws RangeError if not finite or too large. */
export function fromMajor(amount: number, currency: string): Money {
  return money(unitsHalfEven(amount, minorDigits(currency)), currency);
}

/** The amount in major units, for computing (not for showing). */
export function toMajor(value: Money): number {
  return Number(amountText(value));
}

export function toWire(value: Money): MoneyWire {
  return { amount: amountText(value), currency: value.currency };
}

/** Adds two amounts. Throws TypeError if the currencies differ, RangeError beyond the safe integers. */
export function addMoney(a: Money, b: Money): Money {
  needSameCurrency(a, b);
  return money(BigInt(a.minor) + BigInt(b.minor), a.currency);
}

/** Takes b from a. Throws as {@link addMoney} does. */
export function subtract(a: Money, b: Money): Money {
  needSameCurrency(a, b);
  return money(BigInt(a.minor) - BigInt(b.minor), a.currency);
}

/** Adds all amounts; the currency is needed because there may be none. */
export function sum(values: readonly Money[], currency: string): Money {
  return values.reduce(addMoney, money(0, currency));
}

const formats = new Map<string, Intl.NumberFormat>();

/**
 * Money for people: "AUD 1,250.00". The code comes first in every locale, because many signs ($, kr) are shared; the
 * locale (BCP 47) decides grouping and decimal mark. The decimals are ISO 4217's, not those that a locale prefers.
 * Throws RangeError for a malformed locale.
 */
export function formatMoney(value: Money, locale = 'en'): string {
  const digits = minorDigits(value.currency);
  const key = `${locale} ${digits}`;
  let format = formats.get(key);
  if (format === undefined) {
    format = new Intl.NumberFormat(locale, { minimumFractionDigits: digits, maximumFractionDigits: digits });
    formats.set(key, format);
  }
  const text = amountText(value);
  // The text keeps every digit; a number would lose cents above about 7e13.
  return `${value.currency} ${format.format(isNumeric(text) ? text : toMajor(value))}`;
}

/** The same, in the reader's locale. */
export const amount = (value: Money): Message => formatted((locale) => formatMoney(value, locale));

/** The same without its currency, where that is said beside it. */
export const bareAmount = (value: Money): Message =>
  formatted((locale) => formatMoney(value, locale).replace(value.currency, '').trim());

function isNumeric(text: string): text is `${number}` {
  return /^-?\d+(\.\d+)?$/.test(text);
}

function amountText(value: Money): string {
  return unitsToText(BigInt(value.minor), minorDigits(value.currency));
}

function needSameCurrency(a: Money, b: Money): void {
  if (a.currency !== b.currency)
    throw new TypeError(`${a.currency} and ${b.currency} cannot be reckoned together`);
}
