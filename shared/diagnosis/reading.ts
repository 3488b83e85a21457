/** Readings typed by people: `0.00 A`, `450mA`, `3,7 V`, `82 %`. */
import type { Check } from '../../knowledge/schema.ts';
import type { Message } from '../language/message.ts';
import { inRow, packText, say, typed, verbatim } from '../language/say.ts';

/** Factors of the prefixes that a meter shows. */
const prefixes: Record<string, number> = { '': 1, m: 1e-3, u: 1e-6, µ: 1e-6, k: 1e3 };

/** The number in the check's unit; null when the text is no reading. A bare number is in the check's unit. */
export function readReading(text: string, unit: NonNullable<Check['unit']>): number | null {
  const match = /^\s*([+-]?\d+(?:[.,]\d+)?)\s*([a-zµΩ%°]*)\s*$/iu.exec(text);
  if (!match) return null;
  const value = Number((match[1] ?? '').replace(',', '.'));
  const given = (match[2] ?? '').replace('Ω', 'ohm').replace('°', '');
  if (!given || given.toLowerCase() === unit.toLowerCase()) return value;
  if (unit === 'mAh' && given.toLowerCase() === 'ah') return value * 1000;
  if (!given.toLowerCase().endsWith(unit.toLowerCase())) return null;
  const factor = prefixes[given.slice(0, given.length - unit.length)];
  return factor === undefined ? null : value * factor;
}

export type Answer =
  | { ok: true; outcome: Check['outcomes'][number]; reading: string | null }
  | { ok: false; problem: Message; expected: Message };

/** Finds which outcome an answer means: its id, its words, or a reading in its band (from <= x < to). */
export function readAnswer(check: Check, text: string): Answer {
  const key = text.trim().toLowerCase();
  const said = check.outcomes.find(({ id, says }) => id === key || says.toLowerCase() === key);
  if (said) return { ok: true, outcome: said, reading: null };
  const ids = inRow(check.outcomes.map(({ id }) => typed(id)));
  const expected = check.unit ? say`${ids}, or a reading in ${typed(check.unit)}` : ids;
  if (check.unit) {
    const value = readReading(text, check.unit);
    if (value !== null) {
      const banded = check.outcomes.find(({ band }) => band && value >= band.from && value < band.to);
      if (banded) return { ok: true, outcome: banded, reading: text.trim() };
      return {
        ok: false,
        problem: say`${verbatim(text.trim())} is outside what ${packText(check.name)} can read`,
        expected,
      };
    }
  }
  return {
    ok: false,
    problem: say`"${verbatim(text.trim())}" is no answer to ${packText(check.name)}`,
    expected,
  };
}
