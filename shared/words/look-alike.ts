/**
 * Names that look alike and are two: letters of other alphabets, a nought for an O. After the skeletons of Unicode Technical Standard
 * 39, clause 4, with the letters that a name of a phone has (from memory). Two names with one skeleton may be one name.
 */
import { nameKey } from '../store/name-key.ts';

const LIKE: Readonly<Record<string, string>> = {
  // Cyrillic
  а: 'a',
  в: 'b',
  е: 'e',
  ѕ: 's',
  і: 'l',
  ј: 'j',
  к: 'k',
  м: 'm',
  н: 'h',
  о: 'o',
  р: 'p',
  с: 'c',
  т: 't',
  у: 'y',
  х: 'x',
  з: 'e',
  ԁ: 'd',
  һ: 'h',
  // Greek
  α: 'a',
  β: 'b',
  ε: 'e',
  η: 'n',
  ι: 'l',
  κ: 'k',
  μ: 'm',
  ν: 'v',
  ο: 'o',
  ρ: 'p',
  τ: 't',
  υ: 'y',
  χ: 'x',
  ζ: 'z',
  // Digits, and letters that are one stroke
  '0': 'o',
  '1': 'l',
  i: 'l',
  ı: 'l',
  '|': 'l',
  '!': 'l',
  '5': 's',
  '8': 'b',
  '3': 'e',
};

/** What a name looks like. Case, accents, spaces and hyphens do not count. */
export const skeletonOf = (name: string): string =>
  [...nameKey(name).replaceAll(' ', '')]
    .map((character) => LIKE[character] ?? character)
    .join('')
    .replaceAll('rn', 'm')
    .replaceAll('vv', 'w');
