/** A decision with several possible faults as a file has it: chances, rows and prices by name. */
import { z } from 'zod';
import {
  normalised,
  priorOver,
  setOutcomeChances,
  shownChances,
  weigh,
  weighAbsent,
} from '../../shared/diagnosis/sets/belief.ts';
import { faultSets } from '../../shared/diagnosis/sets/fault-sets.ts';
import type { SetProblem } from '../../shared/diagnosis/sets/set-problem.ts';

const chance = z.number().min(0).max(1);
const money = z.number();
export const instanceSchema = z.object({
  faults: z.record(z.string(), chance),
  complaints: z.record(
    z.string(),
    z.object({ leak: chance, keeps: chance, seen: z.record(z.string(), chance) }),
  ),
  /** Most faults held present at once. */
  most: z.number().int().min(1).max(3),
  checks: z.array(
    z.object({
      id: z.string(),
      cost: money.min(0),
      /** Rows from nothing wrong to most wrong. */
      otherwise: z.array(chance),
      given: z.record(z.string(), z.array(chance)),
      /** Needs the phone open. */
      inside: z.boolean(),
    }),
  ),
  remedies: z.array(
    z.object({
      id: z.string(),
      cost: money.min(0),
      inside: z.boolean(),
      works: z.record(z.string(), chance),
    }),
  ),
  value: money,
  strip: money,
  pass: money,
  open: money.min(0),
  shown: z.array(z.string()),
  not_shown: z.array(z.string()).default([]),
  optimum: money.optional(),
  first: z.string().optional(),
});
export type Instance = z.infer<typeof instanceSchema>;

/** @throws RangeError when no set of faults explains what is shown. */
export function problemOf(instance: Instance): SetProblem {
  const faults = Object.keys(instance.faults);
  const sets = faultSets(faults.length, Math.min(instance.most, faults.length));
  const shownBy = (id: string) => {
    const complaint = instance.complaints[id];
    if (!complaint) throw new RangeError(`no complaint ${id}`);
    const seen = faults.map((fault) => complaint.seen[fault] ?? complaint.leak);
    return { ...complaint, chances: shownChances(sets, { leak: complaint.leak, seen }) };
  };
  let weights = priorOver(sets, Object.values(instance.faults));
  const open = instance.shown.map((id) => ({ id, ...shownBy(id) }));
  for (const { chances } of open) weights = weigh(weights, chances);
  for (const id of instance.not_shown) weights = weighAbsent(weights, shownBy(id).chances);
  const belief = normalised(weights);
  if (!belief) throw new RangeError('nothing explains what is shown');
  return {
    faults,
    hypotheses: Array.from(belief, (weight, s) => ({ faults: sets.members(s), weight })),
    complaints: open.map(({ id, keeps, chances }) => ({ id, keeps, chance: chances })),
    checks: instance.checks.map((check) => {
      const rows = {
        otherwise: check.otherwise,
        given: faults.map((fault) => check.given[fault] ?? null),
      };
      return {
        id: check.id,
        cost: check.cost,
        level: check.inside ? 1 : 0,
        outcomes: check.otherwise.map((_, o) => `o${o}`),
        forms: [{ needs: 0, not: 0, given: check.otherwise.map((_, o) => setOutcomeChances(sets, rows, o)) }],
      };
    }),
    remedies: instance.remedies.map((remedy) => ({
      id: remedy.id,
      cost: remedy.cost,
      level: remedy.inside ? 1 : 0,
      works: faults.map((fault) => remedy.works[fault] ?? 0),
      keeps: 1,
    })),
    access: [instance.open],
    level: 0,
    value: instance.value,
    ends: [
      { id: 'strip', value: Array.from(belief, () => instance.strip) },
      { id: 'pass', value: Array.from(belief, () => instance.pass) },
    ],
  };
}
