/** An exact decimal: `units / 10^scale`. */
export interface Decimal {
  units: bigint;
  scale: number;
}

/**
 * Reads a plain decimal text ("-12.50") or a finite number exactly as it prints: 2.675 is 2.675, not the nearest
 * binary fraction below it. Throws RangeError for anything else.
 */
export function toDecimal(value: number | string): Decimal {
  const text = typeof value === 'number' ? String(value) : value;
  const match = /^(-?)(\d+)(?:\.(\d+))?(?:e([+-]\d+))?$/.exec(text);
  const [, sign = '', whole = '', fraction = '', exponent = '0'] = match ?? [];
  // The exponent is how JavaScript prints very small and very large numbers; in a text it is not a plain decimal.
  if (match === null || (typeof value === 'string' && match[4] !== undefined)) {
    throw new RangeError(`not a decimal number: ${JSON.stringify(text)}`);
  }
  const units = BigInt(`${sign}${whole}${fraction}`);
  const scale = fraction.length - Number(exponent);
  return scale >= 0 ? { units, scale } : { units: units * 10n ** BigInt(-scale), scale: 0 };
}

/** `numerator / denominator` to the nearest whole number, ties to even (IEEE 754-2019, 4.3.1). Denominator above 0. */
export function divideHalfEven(numerator: bigint, denominator: bigint): bigint {
  if (denominator <= 0n) throw new RangeError('the denominator must be above 0');
  const floor = numerator / denominator - (numerator % denominator < 0n ? 1n : 0n);
  const twice = 2n * (numerator - floor * denominator);
  const up = twice > denominator || (twice === denominator && floor % 2n !== 0n);
  return up ? floor + 1n : floor;
}

/** A decimal as whole units of `10^-decimals`, ties to even: ("2.675", 2) is 268. */
export function unitsHalfEven(value: number | string, decimals: number): bigint {
  const { units, scale } = toDecimal(value);
  return scale <= decimals
    ? units * 10n ** BigInt(decimals - scale)
    : divideHalfEven(units, 10n ** BigInt(scale - decimals));
}

/** Writes `units / 10^decimals` as a plain decimal text; zero has no sign. */
export function unitsToText(units: bigint, decimals: number): string {
  const digits = String(units < 0n ? -units : units).padStart(decimals + 1, '0');
  const split = digits.length - decimals;
  const fraction = decimals === 0 ? '' : `.${digits.slice(split)}`;
  return `${units < 0n ? '-' : ''}${digits.slice(0, split)}${fraction}`;
}

/**
 * Rounds to a number of decimals (0 to 20), ties to even, without passing through binary fractions: "2.675" to two
 * decimals is "2.68". A text comes back as a text, a number as a number; zero has no sign.
 */
export function roundHalfEven(value: string, decimals: number): string;
export function roundHalfEven(value: number, decimals: number): number;
export function roundHalfEven(value: number | string, decimals: number): number | string {
  const text = unitsToText(unitsHalfEven(value, decimals), decimals);
  return typeof value === 'number' ? Number(text) : text;
}
