/** What `/trace` answers besides words: its data, with the inputs that the answer was worked out from. */

import { z } from 'zod';
import { sourceNote } from '../../knowledge/grounds.ts';
import type { Check, PartGrade, Remedy } from '../../knowledge/schema.ts';
import { netOfStopping } from '../../shared/diagnosis/sets/next-step.ts';
import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import type { SetAction } from '../../shared/diagnosis/sets/set-problem.ts';
import type { Economics } from '../../shared/economics/economics.ts';
import { fromMajor, moneyWire, toWire } from '../../shared/money/money.ts';
import { dangers, wetnesses } from '../../shared/phone/state.ts';
import type { Context } from '../framework/context.ts';
import { type Draft, type Input, inputSchema } from '../framework/reply.ts';
import { lowerOf, moneyOnBench, type TraceDecision } from './trace-decision.ts';
import { unsaidOf } from './trace-look.ts';
import { standingOf } from './trace-standing.ts';

export const traceData = z.object({
  trace: z.number().int(),
  state: z.enum(['asking', 'opening', 'remedy', 'danger', 'dry', 'stop', 'mended', 'stopped']),
  /** What is settled of the phone, whatever the odds say. */
  phone: z.object({ danger: z.enum(dangers), wet: z.enum(wetnesses), newCell: z.boolean() }),
  revision: z.number().int(),
  family: z.string(),
  model: z.string().nullable(),
  symptoms: z.array(z.string()),
  evidence: z.array(
    z.object({
      kind: z.string(),
      id: z.string(),
      outcome: z.string().nullable(),
      reading: z.string().nullable(),
      by: z.string(),
    }),
  ),
  odds: z.array(z.object({ fault: z.string(), chance: z.number() })),
  step: z.object({ kind: z.string(), id: z.string() }).nullable(),
  /** Expected net of the plan, the limit nobody can pass, and whether the plan is proved the best. */
  plan: z
    .object({ expected: moneyWire, limit: moneyWire, proved: z.boolean(), leftOut: z.number() })
    .nullable(),
  gain: z.object({ overStopping: moneyWire }).nullable(),
  /** What is still open, what is gone, and the damage that is known and not mended. */
  open: z.array(z.string()),
  gone: z.array(z.string()),
  damage: z.array(z.string()),
  /** What it does not show, and the components that are known to be good. */
  denied: z.array(z.string()),
  good: z.array(z.string()),
  /** How far it is taken apart: 0 closed, 1 open, 2 board out. */
  reached: z.number().int(),
  /** All that was said to be wrong, in that order: by id of the symptom, or of the broken component. */
  standing: z.array(
    z.object({ id: z.string(), stands: z.enum(['gone', 'known', 'to-find']), by: z.string().nullable() }),
  ),
  /** What anybody would see and nobody has spoken of: asked once, before the first step. */
  unsaid: z.array(z.string()),
  minutes: z.number().nullable(),
  inputs: z.array(inputSchema),
});
export type TraceDraft = Draft<z.infer<typeof traceData>>;
export type TraceData = z.infer<typeof traceData>;

export function dataOf(
  bench: TraceDecision,
  state: TraceData['state'],
  step: SetAction | null,
  found: SetPlan | null,
  minutes: number | null,
  inputs: readonly Input[] = [],
): TraceData {
  const { trace, phone, economics } = bench;
  const wire = (sum: number) => toWire(moneyOnBench(bench, sum));
  const best = found && step ? lowerOf(found, step) : undefined;
  const gain = found && best !== undefined ? best - netOfStopping(found) : undefined;
  return {
    trace: trace.number,
    state,
    phone: {
      danger: bench.found.state.danger,
      wet: bench.found.state.wet,
      newCell: bench.found.state.newCell,
    },
    revision: trace.revision,
    family: phone.family.id,
    model: phone.model?.name ?? null,
    symptoms: trace.symptoms,
    evidence: trace.steps
      .filter((one) => !one.undone)
      .map(({ kind, ref, outcome, reading, by }) => ({ kind, id: ref, outcome, reading, by: by.name })),
    open: [...bench.found.belief.open],
    gone: [...bench.found.belief.gone],
    damage: [...bench.found.belief.damage],
    denied: [...bench.found.belief.denied],
    good: [...new Set(bench.question.events.flatMap((event) => (event.kind === 'good' ? [event.id] : [])))],
    reached: bench.found.reached,
    standing: standingOf(bench).map(({ id, stands, by }) => ({ id, stands, by })),
    unsaid: state === 'danger' ? [] : unsaidOf(bench).map(({ id }) => id),
    odds: bench.found.belief.odds.map(({ fault, share }) => ({ fault: fault.id, chance: share })),
    step,
    plan: found && {
      expected: wire(found.value),
      limit: wire(found.upper),
      proved: found.exact && bench.found.uncut,
      leftOut: bench.found.leftOut,
    },
    gain: gain !== undefined ? { overStopping: wire(gain) } : null,
    minutes,
    inputs: [
      ...economics.inputs,
      ...inputs,
      {
        name: 'fault weights and outcome chances',
        value: bench.context.knowledge.version,
        ground: 'practice',
        note: 'pack',
      },
    ],
  };
}

/** The minutes of a step, with the ground of the whole entry. */
export function stepInput({ knowledge }: Context, step: Check | Remedy): Input {
  const { ground, minutes, id } = step;
  return typeof ground === 'string'
    ? { name: `minutes: ${id}`, value: minutes, ground }
    : { name: `minutes: ${id}`, value: minutes, ground: 'published', note: sourceNote(knowledge, ground) };
}

/** The price of a part: the middle of those seen, or a share of the base of part prices. */
export function partInput(economics: Economics, component: string, grade: PartGrade): Input {
  const { price, seen, held } = economics.part(component, grade);
  const name = `part: ${component}, ${grade}`;
  const value = toWire(fromMajor(price, economics.currency)).amount;
  if (held) return { name, value, ground: 'collective', note: '/shelf' };
  return seen
    ? { name, value, ground: 'collective', note: `median of ${seen}` }
    : { name, value, ground: 'practice', note: 'share-of-base' };
}
