import * as table from 'dinero.js/currencies';

const currencies: ReadonlyMap<string, number> = new Map(
  Object.values(table).map(({ code, base, exponent }) => {
    // dinero.js counts the ariary and the ouguiya in fifths (base 5); ISO 4217 writes both with two decimals
    // (from memory), which is what a price tag and a bank statement show.
    return [code, base === 10 ? exponent : 2];
  }),
);

/** Is this an ISO 4217 alphabetic code of a circulating currency, in capitals? Source: the table of dinero.js. */
export function isCurrency(code: string): boolean {
  return currencies.has(code);
}

/**
 * The number of decimals of a currency's minor unit (ISO 4217 List One, as carried by dinero.js): AUD 2, JPY 0, JOD 3.
 * Throws RangeError for an unknown code.
 */
export function minorDigits(code: string): number {
  const digits = currencies.get(code);
  if (digits === undefined) throw new RangeError(`not an ISO 4217 currency code: ${JSON.stringify(code)}`);
  return digits;
}

/** All known codes, in alphabetical order. */
export function currencyCodes(): string[] {
  return [...currencies.keys()].sort();
}
