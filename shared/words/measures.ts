/** Readings with a unit and prices in a sentence. What can be read in two ways is given in both. */
import { minorDigits } from '../money/currency.ts';

/** A place in a text, in UTF-16 units: from <= i < to, and what stands there. */
export interface Span {
  text: string;
  from: number;
  to: number;
}

/** V, A, W, ohm, degrees C, per cent, charge cycles, mAh, minutes, hours; `year` is a bare year such as 1970. */
export const measuredUnits = ['V', 'A', 'W', 'ohm', 'C', '%', 'cycles', 'mAh', 'min', 'h', 'year'] as const;
export type MeasuredUnit = (typeof measuredUnits)[number];

export interface Measured extends Span {
  unit: MeasuredUnit;
  /** In the unit itself, whatever prefix was typed; the first is the likelier. Two where a mark can group or divide. */
  values: number[];
  /** The component that it is said of, as "3.82 V cell"; null where none stands by it. */
  about: string | null;
}

export interface Price extends Span {
  /** Decimal texts in major units, such as "20.50"; the first is the likelier. Two where a mark can group or divide. */
  amounts: string[];
  /** ISO 4217 code; `$` and other shared signs stay as they are; null when none was said. */
  currency: string | null;
}

export interface MeasureWords {
  /** Folded words of units, and of currencies. */
  units: ReadonlyMap<string, MeasuredUnit>;
  money: ReadonlyMap<string, string>;
  /** Folded words that stand before a price. */
  paid: ReadonlySet<string>;
  /** True where a comma divides: "0,9 A". */
  comma: boolean;
}

/**
 * The plain decimals that a typed number can mean, the likelier first; none when it is no number. A mark that stands once before
 * three digits can group or divide: "1.250" is 1250 or 1.25. `comma`: a comma divides where the language writes so.
 */
export function decimalsOf(number: string, comma: boolean): string[] {
  const text = number.replace(/(?<=\d)[\s'’](?=\d{3}(?!\d))/g, '');
  if (/^\d+$/.test(text)) return [plain(text)];
  const [point, mark] = comma ? [',', '.'] : ['.', ','];
  const grouped = (group: string) => new RegExp(`^\\d{1,3}(\\${group}\\d{3})+$`).test(text);
  const both = (group: string, divide: string) =>
    new RegExp(`^\\d{1,3}(\\${group}\\d{3})+\\${divide}\\d+$`).test(text);
  const divided = (by: string) => new RegExp(`^\\d+\\${by}\\d+$`).test(text);
  const asGrouped = (group: string) => plain(text.replaceAll(group, ''));
  const asDivided = (by: string) => plain(text.replace(by, '.'));
  for (const [group, divide] of [
    [mark, point],
    [point, mark],
  ] as const)
    if (both(group, divide)) return [plain(text.replaceAll(group, '').replace(divide, '.'))];
  for (const one of [mark, point]) {
    if (!grouped(one)) continue;
    if (!divided(one) || text.startsWith('0')) return divided(one) ? [asDivided(one)] : [asGrouped(one)];
    return one === mark ? [asGrouped(one), asDivided(one)] : [asDivided(one), asGrouped(one)];
  }
  for (const one of [point, mark]) if (divided(one)) return [asDivided(one)];
  return [];
}

/** Without zeros that say nothing before the point. */
const plain = (decimal: string): string => decimal.replace(/^0+(?=\d)/, '');

/** Signs that one currency has; the others are shared. From memory of common usage. */
const signs: Readonly<Record<string, string>> = {
  '€': 'EUR',
  '£': 'GBP',
  '₹': 'INR',
  '₩': 'KRW',
  '₺': 'TRY',
  '₽': 'RUB',
};

const NUMBER = "\\d+(?:[\\s'’]\\d{3})*(?:[.,]\\d+)*";
const SIGN = '[€£₹₩₺₽$¥]|US\\$|A\\$|C\\$|NZ\\$';
const LETTERS = '[\\p{L}µΩ°%]';
const PRICE_BEFORE = new RegExp(`(${SIGN})\\s?(${NUMBER})(?:,-|\\.-)?(?![\\d.,]*\\d)`, 'gu');
const MEASURE = new RegExp(
  `(?<![\\p{L}\\d.,])([-+]?(?:${NUMBER}|[.,]\\d+))(?:,-|\\.-)?\\s?(${SIGN}|${LETTERS}+)?(?![\\p{L}\\d])`,
  'gu',
);

/** Units as a meter shows them, and what a number with them is multiplied by. */
const exact: Readonly<Record<string, readonly [MeasuredUnit, number]>> = {
  V: ['V', 1],
  v: ['V', 1],
  mV: ['V', 1e-3],
  mv: ['V', 1e-3],
  A: ['A', 1],
  a: ['A', 1],
  mA: ['A', 1e-3],
  ma: ['A', 1e-3],
  MA: ['A', 1e-3],
  µA: ['A', 1e-6],
  uA: ['A', 1e-6],
  W: ['W', 1],
  w: ['W', 1],
  mW: ['W', 1e-3],
  Ω: ['ohm', 1],
  ohm: ['ohm', 1],
  ohms: ['ohm', 1],
  kΩ: ['ohm', 1e3],
  kohm: ['ohm', 1e3],
  mΩ: ['ohm', 1e-3],
  mohm: ['ohm', 1e-3],
  '°C': ['C', 1],
  '°c': ['C', 1],
  '°': ['C', 1],
  C: ['C', 1],
  '%': ['%', 1],
  mAh: ['mAh', 1],
  mah: ['mAh', 1],
  MAH: ['mAh', 1],
  Ah: ['mAh', 1e3],
  min: ['min', 1],
  h: ['h', 1],
};

export interface Measures {
  measured: Measured[];
  prices: Price[];
}

/** A number scaled without the noise of binary fractions: 450 mA is 0.45 A. */
const scaled = (decimal: string, factor: number): number =>
  factor < 1 ? Number(decimal) / Math.round(1 / factor) : Number(decimal) * factor;

/** Reads what is measured and what was paid in any text, in the order it stands there. Never throws. */
export function measuresIn(text: string, words: MeasureWords, fold: (word: string) => string): Measures {
  const measured: Measured[] = [];
  const prices: Price[] = [];
  const taken: [number, number][] = [];
  const free = (from: number, to: number) => !taken.some(([a, b]) => from < b && a < to);
  const price = (from: number, to: number, number: string, currency: string | null) => {
    const amounts = decimalsOf(number, words.comma);
    if (amounts.length === 0) return;
    taken.push([from, to]);
    prices.push({ text: text.slice(from, to), from, to, amounts: likelier(amounts, currency), currency });
  };
  for (const match of text.matchAll(PRICE_BEFORE)) {
    const [whole, sign = '', number = ''] = match;
    price(match.index, match.index + whole.length, number, signs[sign] ?? sign);
  }
  for (const match of text.matchAll(MEASURE)) {
    const [whole, number = '', mark = ''] = match;
    const from = match.index;
    const to = from + whole.length;
    if (!free(from, to)) continue;
    const unit = fold(mark);
    const currency = signs[mark] ?? words.money.get(unit) ?? (/^[$¥]|\$$/.test(mark) ? mark : undefined);
    if (currency !== undefined && !/^[-+]/.test(number)) {
      price(from, to, number, currency);
      continue;
    }
    const known = Object.hasOwn(exact, mark) ? exact[mark] : undefined;
    const named = words.units.get(unit);
    const found = known ?? (named ? ([named, 1] as const) : undefined);
    const sign = /^[-+]/.exec(number)?.[0] ?? '';
    const digits = number.slice(sign.length);
    // A meter shows half an ampere as ".5".
    const decimals = decimalsOf(digits.replace(/^(?=[.,])/, '0'), words.comma);
    if (found && decimals.length) {
      // A reading's decimal mark divides, whichever it is; only cycles and capacities run to thousands.
      const thousands = found[0] === 'cycles' || found[0] === 'mAh';
      const values = [...decimals]
        .sort((a, b) => (thousands ? Number(b) - Number(a) : Number(a) - Number(b)))
        .map((one) => scaled(one, found[1]) * (sign === '-' ? -1 : 1));
      taken.push([from, to]);
      measured.push({
        text: text.slice(from, to),
        from,
        to,
        unit: found[0],
        values: thousands ? values : values.slice(0, 1),
        about: null,
      });
      continue;
    }
    const end = from + sign.length + digits.length;
    const before = fold(/(\p{L}+)\s*$/u.exec(text.slice(Math.max(0, from - 30), from))?.[1] ?? '');
    if (mark === '' && sign === '' && /^(19[789]\d|20[0-4]\d)$/.test(digits)) {
      measured.push({ text: digits, from, to: end, unit: 'year', values: [Number(digits)], about: null });
      taken.push([from, end]);
    } else if (sign === '' && words.paid.has(before) && (mark === '' || /\s/.test(text[end] ?? ''))) {
      price(from, end, digits, null);
    }
  }
  return { measured: measured.sort(byPlace), prices: prices.sort(byPlace) };
}

const byPlace = (a: Span, b: Span): number => a.from - b.from;

/** With as many decimals as the currency has, or none, the mark divides; with more it groups. */
function likelier(amounts: string[], currency: string | null): string[] {
  const digits = currency !== null && /^[A-Z]{3}$/.test(currency) ? digitsOf(currency) : 2;
  const right = (amount: string) => (amount.split('.')[1]?.length ?? 0) <= digits;
  return [...amounts.filter(right), ...amounts.filter((one) => !right(one))];
}
function digitsOf(currency: string): number {
  try {
    return minorDigits(currency);
  } catch {
    return 2;
  }
}
