/** `npx tsx tests/bench/danger.ts [EVERY]`: walks every family x symptom (or every EVERY-th) and prints states and violations. */
import { inspectPack, packFolder } from '../../knowledge/load.ts';
import { pairsOf, walk } from '../danger/walk.ts';

const every = Number(process.argv[2] ?? 1);
const { knowledge } = inspectPack([packFolder]);
const pairs = pairsOf(knowledge).filter((_, index) => index % every === 0);
let states = 0;
const violations: string[] = [];
const asked = new Set<string>();
for (const { family, symptom } of pairs) {
  const walked = walk(knowledge, family, [symptom.id]);
  states += walked.states;
  violations.push(...walked.violations);
  for (const id of walked.asked) asked.add(id);
}
for (const line of violations.slice(0, 40)) console.log(line);
console.log(`pairs ${pairs.length}, steps asked ${asked.size}`);
console.log(`danger.states ${states}`);
console.log(`danger.violations ${violations.length}`);
