/**
 * Plans the cases with several possible faults that are in files: `npx tsx tests/bench/several.ts FILE...` prints one line
 * each: file, value, upper limit, first step.
 */
import { readFileSync } from 'node:fs';
import { planSets } from '../../shared/diagnosis/sets/set-plan.ts';
import { instanceSchema, problemOf } from '../diagnosis/set-instance.ts';

/** Enough that every small case is settled. */
const EXPANSIONS = 200_000;

for (const file of process.argv.slice(2)) {
  const problem = problemOf(instanceSchema.parse(JSON.parse(readFileSync(file, 'utf8'))));
  const { value, upper, action } = planSets(problem, { expansions: EXPANSIONS });
  console.log(`${file}, ${value.toFixed(9)}, ${upper.toFixed(9)}, ${action.id}`);
}
