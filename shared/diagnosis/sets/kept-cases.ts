/** Cases that were laid out lately: people ask of one phone at one price after another, and each answer is built twice. */
import { LRUCache } from 'lru-cache';
import { type SetCase, setCaseOf } from './set-case.ts';
import type { SetCaseQuestion } from './set-case-question.ts';

/** Some 0.4 MB each. */
const MOST_CASES = 60;
const kept = new LRUCache<string, { found: SetCase | null }>({ max: MOST_CASES });

/** A number for each object that a case hangs on: as long as nothing in it has changed, it is the same object. */
const numbers = new WeakMap<object, number>();
let last = 0;
function numberOf(one: object | undefined): number {
  if (!one) return 0;
  const known = numbers.get(one);
  if (known !== undefined) return known;
  last += 1;
  numbers.set(one, last);
  return last;
}

/** As `setCaseOf`, out of what is kept where the same was asked: of the same economics, pack and learnt weights. */
export function keptCaseOf(question: SetCaseQuestion): SetCase | null {
  const { knowledge, economics, weights, family, events, state, damage, rate, most } = question;
  const of = [numberOf(economics), numberOf(knowledge), numberOf(weights)];
  const key = JSON.stringify([of, family.id, events, state, damage, rate, most]);
  const made = kept.get(key) ?? { found: setCaseOf(question) };
  kept.set(key, made);
  return made.found;
}
