/** The sets of faults that are planned with: the likeliest that can show what is open. */

import { type BenchBelief, complaintOf } from './bench-belief.ts';
import type { SetCaseQuestion } from './set-case-question.ts';
import type { Hypothesis } from './set-problem.ts';

/** Sets are planned with, likeliest first, until this share of the belief is there, or so many of them. Chosen by measurement. */
const KEPT_SHARE = 0.995;
const MOST_HYPOTHESES = 110;

/** A fault shows a symptom when it does so more often than nothing does, by this. */
const SHOWS = 1e-9;

/** The symptoms that are open, as complaints over all faults. */
export const knowledgeComplaints = ({ knowledge }: SetCaseQuestion, { open, faults }: BenchBelief) =>
  open.flatMap((id) => {
    const symptom = knowledge.symptoms.get(id);
    return symptom ? [complaintOf(symptom, faults)] : [];
  });

/** The likeliest sets of the faults that can show what is open, closed under taking faults away. */
export function hypothesesOf(
  { sets, weights }: BenchBelief,
  complaints: readonly ReturnType<typeof complaintOf>[],
): { hypotheses: Hypothesis[]; leftOut: number } {
  const matters = new Uint8Array(sets.faults);
  for (const { leak, seen } of complaints)
    for (let i = 0; i < sets.faults; i++) if ((seen[i] ?? 0) > leak + SHOWS) matters[i] = 1;
  const keep = (fault: number): number => (fault >= 0 && matters[fault] === 1 ? fault : -1);
  const merged = new Float64Array(sets.count);
  for (let s = 0; s < sets.count; s++) {
    const weight = weights[s] ?? 0;
    if (weight === 0) continue;
    const to = sets.indexOfThree(
      keep(sets.first[s] ?? -1),
      keep(sets.second[s] ?? -1),
      keep(sets.third[s] ?? -1),
    );
    merged[to] = (merged[to] ?? 0) + weight;
  }
  const candidates: number[] = [];
  for (let s = 0; s < sets.count; s++) if ((merged[s] ?? 0) > 1e-6) candidates.push(s);
  candidates.sort((a, b) => (merged[b] ?? 0) - (merged[a] ?? 0) || a - b);
  const kept = new Set<number>([0]);
  let share = 0;
  for (const s of candidates) {
    if (share >= KEPT_SHARE || kept.size >= MOST_HYPOTHESES) break;
    share += merged[s] ?? 0;
    // A remedy may leave any part of it.
    const [i, j, k] = [sets.first[s] ?? -1, sets.second[s] ?? -1, sets.third[s] ?? -1];
    for (let out = 0; out < 8; out++)
      kept.add(sets.indexOfThree(out & 1 ? -1 : i, out & 2 ? -1 : j, out & 4 ? -1 : k));
  }
  const places = [...kept].sort((a, b) => a - b);
  const held = places.reduce((sum, s) => sum + (merged[s] ?? 0), 0);
  return {
    hypotheses: places.map((s) => ({ faults: sets.members(s), weight: (merged[s] ?? 0) / held })),
    leftOut: Math.max(0, 1 - held),
  };
}
