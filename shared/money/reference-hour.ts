import { minorDigits } from './currency.ts';
import { fromMajor, type Money } from './money.ts';

/** Major units for one hour. */
const HOUR: Readonly<Record<string, number>> = {
  AED: 100,
  AUD: 60,
  BRL: 60,
  CAD: 50,
  CHF: 70,
  CLP: 15_000,
  CNY: 80,
  CZK: 500,
  DKK: 300,
  EUR: 40,
  GBP: 35,
  HKD: 250,
  HUF: 7_000,
  IDR: 80_000,
  ILS: 130,
  INR: 400,
  JOD: 8,
  JPY: 4_000,
  KES: 1_000,
  KRW: 30_000,
  KWD: 8,
  MXN: 250,
  MYR: 40,
  NOK: 450,
  NZD: 60,
  PHP: 300,
  PLN: 100,
  RON: 100,
  SEK: 450,
  SGD: 45,
  THB: 300,
  TWD: 600,
  USD: 45,
  VND: 120_000,
  ZAR: 300,
};

/** For a currency not in the table, by its number of decimals. */
const FALLBACK: Readonly<Record<number, number>> = { 0: 10_000, 3: 10 };

export interface ReferenceHour {
  rate: Money;
  /** False when the currency is not in the table and the rate is no more than a placeholder. */
  known: boolean;
}

/**
 * A rough price of one bench hour, used only until a collective sets its own rate. Orders of magnitude for small repair
 * work, written from memory; no source, no claim about any market. Throws RangeError for an unknown currency.
 */
export function referenceHour(currency: string): ReferenceHour {
  const known = HOUR[currency];
  const rate = known ?? FALLBACK[minorDigits(currency)] ?? 40;
  return { rate: fromMajor(rate, currency), known: known !== undefined };
}
