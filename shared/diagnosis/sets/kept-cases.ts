/** Cases that were laid out lately: people ask of one phone at one price after another, and each answer is built twice. */
import { LRUCache } from 'lru-cache';
import { type SetCase, setCaseOf } from './set-case.ts';
import type { SetCaseQuestion } from './set-case-question.ts';

const MOST_CASES = 40;

interface Kept {
  knowledge: SetCaseQuestion['knowledge'];
  weights: SetCaseQuestion['weights'];
  cases: LRUCache<string, { found: SetCase | null }>;
}
/** By what the costs and prices are: these are one object as long as nothing that they hang on has changed. */
const kept = new WeakMap<SetCaseQuestion['economics'], Kept>();

/** As `setCaseOf`, out of what is kept where the same was asked: of the same economics, pack and learnt weights. */
export function keptCaseOf(question: SetCaseQuestion): SetCase | null {
  const { knowledge, economics, weights, family, events, state, damage, rate, most } = question;
  const have = kept.get(economics);
  const of =
    have?.knowledge === knowledge && have.weights === weights
      ? have
      : { knowledge, weights, cases: new LRUCache<string, { found: SetCase | null }>({ max: MOST_CASES }) };
  kept.set(economics, of);
  const key = JSON.stringify([family.id, events, state, damage, rate, most]);
  const made = of.cases.get(key) ?? { found: setCaseOf(question) };
  of.cases.set(key, made);
  return made.found;
}
