/** The trace that is meant, and what was said, seen and done in it. */
import type { Remedy } from '../../knowledge/schema.ts';
import { type BenchEvent, openAfter } from '../../shared/diagnosis/sets/bench-belief.ts';
import { type JobRecord, tracesOfJob } from '../../shared/jobs/job.ts';
import { say } from '../../shared/language/say.ts';
import type { TraceRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';

/** What was said of a job's phone while no trace was open, after its trace `after` (null: before any). */
const toldOf = ({ store }: Context, job: JobRecord, after: number | null): BenchEvent[] =>
  store.phoneEvents
    .list({ kind: 'job', number: job.number })
    .flatMap(({ event, withdrawn }): BenchEvent[] => {
      if (withdrawn || event.kind !== 'told' || event.after !== after) return [];
      const { what, id, outcome } = event;
      if (what !== 'check') return [{ kind: what, id }];
      return outcome === null ? [] : [{ kind: 'check', id, outcome }];
    });

/** What was said, seen and done in some traces of a job, oldest first, and what was said of its phone between them. */
function eventsIn(context: Context, job: JobRecord | null, traces: readonly TraceRecord[]): BenchEvent[] {
  const { knowledge } = context;
  const open = new Set<string>();
  const shown = (id: string): BenchEvent => {
    open.add(id);
    return { kind: 'shown', id };
  };
  const told = (after: number | null): BenchEvent[] =>
    job ? toldOf(context, job, after).map((event) => (event.kind === 'shown' ? shown(event.id) : event)) : [];
  const each = (ids: string) => ids.split(',').filter(Boolean);
  const all = [
    ...told(null),
    ...traces.flatMap((one): BenchEvent[] => [
      ...one.symptoms.map(shown),
      ...one.steps.flatMap(({ undone, kind, ref: id, outcome, reading }): BenchEvent[] => {
        if (undone) return [];
        if (kind === 'shown') return each(id).map(shown);
        if (kind === 'denied' || kind === 'good')
          return each(id).map((one): BenchEvent => ({ kind, id: one }));
        if (kind === 'cannot' || kind === 'reached') return [{ kind, id }];
        if (kind === 'check' && outcome !== null) {
          const found = knowledge.checks.get(id)?.outcomes.find((each) => each.id === outcome);
          for (const cleared of found?.clears ?? []) open.delete(cleared);
          return [{ kind, id, outcome }];
        }
        if (kind !== 'remedy') return [];
        const gone = outcome === 'works' ? [...open] : outcome === 'partly' ? each(reading ?? '') : [];
        for (const went of gone) open.delete(went);
        return [{ kind, id, gone, left: [...open] }];
      }),
      ...told(one.number),
    ]),
  ];
  // What is shown after all was overlooked, or has come since: the denial counts no more.
  return all.filter(
    (event, at) =>
      event.kind !== 'denied' ||
      !all.some((one, later) => later > at && one.kind === 'shown' && one.id === event.id),
  );
}

/**
 * What was said, seen and done with the phone of a trace, oldest first: in the traces of its job before it, then in this one.
 */
export function benchEventsOf(context: Context, trace: TraceRecord): BenchEvent[] {
  const { store } = context;
  const job = store.jobs.ofTrace(trace.number);
  const earlier = job ? tracesOfJob(job).filter((number) => number < trace.number) : [];
  return eventsIn(context, job, [...earlier.flatMap((number) => store.traces.get(number) ?? []), trace]);
}

/** The same for a job, over all its traces: what it came with first. */
export function benchEventsOfJob(context: Context, job: JobRecord): BenchEvent[] {
  const traces = tracesOfJob(job).flatMap((number) => context.store.traces.get(number) ?? []);
  return [
    ...job.symptoms.map((id): BenchEvent => ({ kind: 'shown', id })),
    ...eventsIn(context, job, traces),
  ];
}

/** Components that were said to be broken, in the traces of its job before it and in this one. */
export function damageOf({ store }: Context, trace: TraceRecord): string[] {
  const job = store.jobs.ofTrace(trace.number);
  const earlier = job ? tracesOfJob(job).filter((number) => number < trace.number) : [];
  const steps = [...earlier.flatMap((number) => store.traces.get(number) ?? []), trace].flatMap(
    (one) => one.steps,
  );
  return [...new Set(steps.flatMap(({ kind, ref, undone }) => (kind === 'damage' && !undone ? [ref] : [])))];
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

/** What is wrong with the phone of a job as far as is known: what it came with where nothing of it is open any more. */
export function symptomsNow(context: Context, job: JobRecord): string[] {
  const open = openAfter(context.knowledge, benchEventsOfJob(context, job));
  return open.size ? [...open] : job.symptoms;
}
