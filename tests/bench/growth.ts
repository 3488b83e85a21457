/** How the time to look for secrets in a note grows with its length: 1 is in proportion, 16 would be in the square. */
import { loadKnowledge } from '../../knowledge/load.ts';
import { findSecret } from '../../shared/notes/secrets.ts';

const { secrets } = loadKnowledge();
const SHORT = 4_000;
const TIMES = 16;
/** What a reader that goes back and forth would stumble over. */
const pieces = [
  '1 ',
  '1-',
  'passcode ',
  'pin 12 ',
  'code de ',
  '"',
  'a@',
  'no pattern, ',
  '1111 ',
  'aa',
  '9',
];

const fastest = (text: string): number =>
  Math.min(
    ...Array.from({ length: 4 }, () => {
      const start = performance.now();
      findSecret(text, secrets);
      return performance.now() - start;
    }),
  );

/** The worst of all pieces, repeated to two lengths. */
export function secretGrowth(): number {
  const ratios = pieces.map((piece) => {
    const [short, long] = [piece.repeat(SHORT / piece.length), piece.repeat((TIMES * SHORT) / piece.length)];
    fastest(short);
    return fastest(long) / Math.max(fastest(short), 0.2) / TIMES;
  });
  return Math.max(...ratios);
}
