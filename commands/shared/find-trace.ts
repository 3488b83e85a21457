/** The trace that is meant, and what was learnt in it. */
import type { Remedy } from '../../knowledge/schema.ts';
import type { Evidence } from '../../shared/diagnosis/decision-problem.ts';
import type { BenchEvent } from '../../shared/diagnosis/sets/bench-belief.ts';
import { tracesOfJob } from '../../shared/jobs/job.ts';
import { say } from '../../shared/language/say.ts';
import type { TraceRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';

/** What a saved trace has learnt so far, oldest first. */
export const evidenceOf = (trace: TraceRecord): Evidence[] =>
  trace.steps.flatMap((step): Evidence[] => {
    if (step.undone) return [];
    if (step.kind === 'check' && step.outcome !== null)
      return [{ kind: 'check', id: step.ref, outcome: step.outcome }];
    if (step.kind === 'remedy' && step.outcome === 'failed') return [{ kind: 'failed', id: step.ref }];
    if (step.kind === 'cannot') return [{ kind: 'cannot', id: step.ref }];
    return [];
  });

/**
 * What was said, seen and done with the phone of a trace, oldest first: in the traces of its job before it, then in this one.
 */
export function benchEventsOf({ knowledge, store }: Context, trace: TraceRecord): BenchEvent[] {
  const job = store.jobs.ofTrace(trace.number);
  const earlier = job ? tracesOfJob(job).filter((number) => number < trace.number) : [];
  const traces = [...earlier.flatMap((number) => store.traces.get(number) ?? []), trace];
  const open = new Set<string>();
  return traces.flatMap((one): BenchEvent[] => [
    ...one.symptoms.map((id): BenchEvent => {
      open.add(id);
      return { kind: 'shown', id };
    }),
    ...one.steps.flatMap(({ undone, kind, ref: id, outcome, reading }): BenchEvent[] => {
      if (undone) return [];
      if (kind === 'shown') {
        open.add(id);
        return [{ kind, id }];
      }
      if (kind === 'denied' || kind === 'cannot') return [{ kind, id }];
      if (kind === 'check' && outcome !== null) {
        const found = knowledge.checks.get(id)?.outcomes.find((each) => each.id === outcome);
        for (const cleared of found?.clears ?? []) open.delete(cleared);
        return [{ kind, id, outcome }];
      }
      if (kind !== 'remedy') return [];
      const gone =
        outcome === 'works'
          ? [...open]
          : outcome === 'partly'
            ? (reading ?? '').split(',').filter(Boolean)
            : [];
      for (const went of gone) open.delete(went);
      return [{ kind, id, gone, left: [...open] }];
    }),
  ]);
}

/** The last remedy of a trace that ended with something mended. */
export function mendedIn(trace: TraceRecord, { knowledge }: Context): Remedy | null {
  if (trace.state !== 'ended') return null;
  const last = trace.steps.findLast(
    (step) =>
      !step.undone && step.kind === 'remedy' && (step.outcome === 'works' || step.outcome === 'partly'),
  );
  return (last && knowledge.remedies.get(last.ref)) ?? null;
}

/** The trace that is meant: by its number, else the asker's newest open one, else the only open one. */
export function traceMeant(context: Context, number: number | undefined): TraceRecord {
  const { store, person } = context;
  if (number !== undefined) {
    const found = store.traces.get(number);
    if (found) return found;
    throw new Refusal({
      code: 'not-found',
      problem: say`There is no trace ${number} here.`,
      expected: say`a number from /trace list`,
      option: 'trace',
    });
  }
  const open = store.traces.listOpen();
  const own = open.filter((trace) => trace.startedBy.key === person.key);
  const meant = own[0] ?? (open.length === 1 ? open[0] : undefined);
  if (meant) return meant;
  throw new Refusal(
    open.length
      ? {
          code: 'missing-option',
          problem: say`Several traces are open.`,
          expected: say`trace: and its number`,
          example: `/trace show ${open[0]?.number}`,
        }
      : {
          code: 'wrong-state',
          problem: say`No trace is open.`,
          expected: say`a new one`,
          example: '/trace "dead" model:"Orrin K3"',
        },
  );
}
