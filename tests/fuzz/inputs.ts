/** Inputs that a parser may meet on a bad day, by a fixed seed: near misses of what is right, and what nobody would type. */
import { commands } from '../../commands/index.ts';

const words = [
  ...commands.flatMap(({ name, actions }) => [`/${name}`, ...Object.keys(actions)]),
  ...commands.flatMap(({ actions }) =>
    Object.values(actions).flatMap(({ options }) =>
      Object.entries(options).flatMap(([name, { example }]) => [`${name}:`, `${name}:${example}`, example]),
    ),
  ),
];
const odd = [
  '"',
  '\\',
  ':',
  ',',
  '=cmd()',
  '@everyone',
  '<@1234567890123456789>',
  '||',
  '```',
  '[a](http://x)',
  '\u202e',
  '\u200b',
  '\u0000',
  '\u2028',
  '👩‍🔧',
  'é',
  'е', // Cyrillic, looks like e
  '٣',
  '１２',
  '-0',
  '1e309',
  'NaN',
  '0x10',
  '00:00',
  '9'.repeat(40),
  '2026-02-30',
  '2026-W54',
  '3,82 V',
  '0.00 A',
  '49015420323751-8',
  '490154203237518',
  'AUD 1.234,56',
  "1'000.50",
  '١٢٣',
  'a'.repeat(600),
  '"'.repeat(50),
  '\\"'.repeat(50),
  ' '.repeat(100),
  '__proto__',
  'constructor',
  '../../../etc/passwd',
  '; DROP TABLE jobs',
  '&a [*a,*a]',
  '{{7*7}}',
  '\r\n',
  '\t',
  '\ufeff',
];
const pool = [...words, ...odd];

/** A text of one to twelve pieces; one in ten is of random characters of all of Unicode. */
export function fuzzText(random: () => number): string {
  const count = 1 + Math.floor(random() * 12);
  if (random() < 0.1) {
    return Array.from({ length: count * 4 }, () => {
      const code = Math.floor(random() * 0x11_0000);
      return code >= 0xd800 && code < 0xe000 ? '\ud83d' : String.fromCodePoint(code);
    }).join('');
  }
  const pieces = Array.from({ length: count }, () => pool[Math.floor(random() * pool.length)] ?? '');
  let text = pieces.join(random() < 0.8 ? ' ' : '');
  // A slip: a character lost, doubled or swapped.
  const at = Math.floor(random() * text.length);
  const slip = random();
  if (slip < 0.1) text = text.slice(0, at) + text.slice(at + 1);
  else if (slip < 0.2) text = text.slice(0, at) + (text[at] ?? '').repeat(2) + text.slice(at + 1);
  return text;
}

/** The same as a command line most of the time. */
export const fuzzLine = (random: () => number): string => {
  const { name } = commands[Math.floor(random() * commands.length)] ?? { name: 'help' };
  return random() < 0.85 ? `/${name} ${fuzzText(random)}` : fuzzText(random);
};
