/**
 * `npx tsx tests/bench/danger.ts [EVERY]`: walks every family x symptom (or every EVERY-th) and prints how many states were
 * looked at and how many violations were found.
 */
import { inspectPack, packFolder } from '../../knowledge/load.ts';
import { pairsOf, walk } from '../danger/walk.ts';

/** Walks every `every`-th pair of a family and a symptom; `each` is told of each pair when it is done. */
export function walkPairs(
  every: number,
  each: (done: number, of: number, states: number) => void = () => undefined,
) {
  const { knowledge } = inspectPack([packFolder]);
  const pairs = pairsOf(knowledge).filter((_, index) => index % every === 0);
  const asked = new Set<string>();
  const violations: string[] = [];
  let states = 0;
  for (const [index, { family, symptom }] of pairs.entries()) {
    const walked = walk(knowledge, family, [symptom.id]);
    states += walked.states;
    violations.push(...walked.violations);
    for (const id of walked.asked) asked.add(id);
    each(index + 1, pairs.length, states);
  }
  return { pairs: pairs.length, states, asked: asked.size, violations };
}

if (import.meta.main) {
  const { pairs, states, asked, violations } = walkPairs(Number(process.argv[2] ?? 1), (done, of, far) => {
    if (done % 50 === 0) console.error(`${done} of ${of} pairs, ${far} states`);
  });
  for (const line of violations.slice(0, 40)) console.log(line);
  console.log(`pairs ${pairs}, steps asked ${asked}`);
  console.log(`danger.states ${states}`);
  console.log(`danger.violations ${violations.length}`);
}
