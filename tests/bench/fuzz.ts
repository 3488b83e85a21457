/**
 * A million bad texts through every parser (`npm run node tests/bench/fuzz.ts [COUNT] [SEED]`): how many crashed, how many
 * took longer than 50 ms, and the longest beside the middle one.
 */
import { seeded } from '../diagnosis/random-problem.ts';
import { fuzzLine, fuzzText } from '../fuzz/inputs.ts';
import { parsers } from '../fuzz/parsers.ts';

const total = Number(process.argv[2] ?? 1_000_000);
const random = seeded(Number(process.argv[3] ?? 1));
/** Looking for the nearest name takes milliseconds, so fewer of these. */
const share = (name: string): number => (name === 'option' ? 0.02 : 0.98 / (Object.keys(parsers).length - 1));
const LIMIT_MS = 50;
/** Of the crashes of a parser so many are shown whole. */
const SHOWN = 3;

for (const [name, parse] of Object.entries(parsers)) {
  const count = Math.round(total * share(name));
  let crashed = 0;
  let slow = 0;
  let longest = { ms: 0, text: '' };
  for (let i = 0; i < count; i += 1) {
    const text = name === 'line' ? fuzzLine(random) : fuzzText(random);
    const from = performance.now();
    try {
      parse(text, random);
    } catch (error) {
      crashed += 1;
      if (crashed <= SHOWN) console.error(name, JSON.stringify(text), error);
    }
    const ms = performance.now() - from;
    if (ms > LIMIT_MS) slow += 1;
    if (ms > longest.ms) longest = { ms, text };
  }
  console.log(
    `fuzz.${name}.inputs ${count}  crashed ${crashed}  over ${LIMIT_MS} ms ${slow}  longest ${longest.ms.toFixed(1)} ms: ${JSON.stringify(longest.text.slice(0, 60))}`,
  );
}
