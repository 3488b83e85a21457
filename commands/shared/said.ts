/**
 * What somebody says of a phone on the bench at any time: what it shows, what it does not, what is known to be good, how far
 * it lies open, what a check gave. Kept with who said it: as steps of its open trace, else as events of its job.
 */
import { fits } from '../../knowledge/features.ts';
import type { AccessLevel, Symptom } from '../../knowledge/schema.ts';
import { safetyOf } from '../../shared/diagnosis/family-facts.ts';
import { canTell } from '../../shared/diagnosis/observable.ts';
import { type BenchEvent, openAfter } from '../../shared/diagnosis/sets/bench-belief.ts';
import { eventsOfAnswer } from '../../shared/diagnosis/sets/next-step.ts';
import type { JobRecord } from '../../shared/jobs/job.ts';
import { packText, say } from '../../shared/language/say.ts';
import type { PhoneEvent } from '../../shared/phone/event.ts';
import { eventsOfSymptoms, phonePowerOf } from '../../shared/phone/intake.ts';
import { barOn } from '../../shared/phone/state.ts';
import type { PhoneSubject, TraceRecord } from '../../shared/store/index.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';
import { benchEventsOf, benchEventsOfJob } from './find-trace.ts';
import { type Phone, phoneOfJob, phoneOfTrace } from './phone.ts';
import { addPhoneEvents, stateOfJob, stateOfTrace, subjectOfJob, subjectOfTrace } from './phone-state.ts';

/** All by id; what is left out was not spoken of. */
export interface SaidAtBench {
  shown?: readonly string[];
  /** It does not, where it would be seen. */
  denied?: readonly string[];
  /** Components. */
  good?: readonly string[];
  reached?: AccessLevel;
  /** Outcomes of checks that were done without being asked; `reading` as it was typed. */
  checks?: readonly { readonly check: string; readonly outcome: string; readonly reading: string | null }[];
}

/** The phone that something is said of: that of an open trace, or of a job. */
export type SpokenOf = { readonly trace: TraceRecord } | { readonly job: JobRecord };

interface Place {
  readonly phone: Phone;
  readonly subject: PhoneSubject;
  /** The open trace that keeps it. */
  readonly trace: TraceRecord | null;
  readonly job: JobRecord | null;
  readonly events: readonly BenchEvent[];
}

function placeOf(context: Context, spoken: SpokenOf): Place {
  const { store } = context;
  const job = 'job' in spoken ? spoken.job : null;
  const current = job?.trace == null ? null : store.traces.get(job.trace);
  const trace = 'trace' in spoken ? spoken.trace : current?.state === 'open' ? current : null;
  if (trace)
    return {
      ...{ phone: phoneOfTrace(context, trace), subject: subjectOfTrace(context, trace), trace, job },
      events: benchEventsOf(context, trace),
    };
  if (!job) throw new Error('nothing is spoken of');
  return {
    ...{ phone: phoneOfJob(context, job), subject: subjectOfJob(job), trace, job },
    events: benchEventsOfJob(context, job),
  };
}

/**
 * Writes down what was said, and the facts that it states of the phone (what looks swollen is suspect at once). Refuses what
 * the family cannot have, what is said both ways, and what puts current through a wet phone.
 */
export function recordSaid(context: Context, spoken: SpokenOf, said: SaidAtBench): PhoneSubject {
  const place = placeOf(context, spoken);
  const fresh = newIn(place, said);
  refuseWrong(context, place, fresh);
  const { trace, job, subject } = place;
  const hand = { by: actorOf(context), at: context.now };
  if (trace) {
    const add = (kind: 'shown' | 'denied' | 'good' | 'reached', ids: readonly string[]) => {
      if (ids.length)
        context.store.traces.add(trace.number, {
          ...{ kind, ref: ids.join(','), outcome: null, reading: null, ...hand },
        });
    };
    add('reached', fresh.reached ? [fresh.reached] : []);
    add('shown', fresh.shown);
    add('denied', fresh.denied);
    add('good', fresh.good);
    for (const { check, outcome, reading } of fresh.checks)
      context.store.traces.add(trace.number, { kind: 'check', ref: check, outcome, reading, ...hand });
  } else if (job) {
    const told = (
      what: 'shown' | 'denied' | 'good' | 'reached' | 'check',
      id: string,
      outcome: string | null = null,
    ) => ({ kind: 'told', what, id, outcome, after: job.trace }) as const;
    addPhoneEvents(context, subject, [
      ...(fresh.reached ? [told('reached', fresh.reached)] : []),
      ...fresh.shown.map((id) => told('shown', id)),
      ...fresh.denied.map((id) => told('denied', id)),
      ...fresh.good.map((id) => told('good', id)),
      ...fresh.checks.map(({ check, outcome }) => told('check', check, outcome)),
    ]);
  }
  addPhoneEvents(context, subject, [
    ...eventsOfSymptoms(context.knowledge, fresh.shown),
    ...fresh.checks.flatMap(({ check, outcome }): PhoneEvent[] => {
      const step = context.knowledge.checks.get(check);
      return step ? eventsOfAnswer(step, outcome) : [];
    }),
  ]);
  return subject;
}

type Fresh = Required<Omit<SaidAtBench, 'reached'>> & Pick<SaidAtBench, 'reached'>;

/** What had not been said already. */
function newIn(
  { events }: Place,
  { shown = [], denied = [], good = [], reached, checks = [] }: SaidAtBench,
): Fresh {
  const before = (kind: BenchEvent['kind'], id: string) =>
    events.some((event) => event.kind === kind && event.id === id);
  const fresh = (kind: BenchEvent['kind'], ids: readonly string[]) =>
    [...new Set(ids)].filter((id) => !before(kind, id));
  return {
    shown: fresh('shown', shown),
    denied: fresh('denied', denied),
    good: fresh('good', good),
    ...(reached === undefined ? {} : { reached }),
    checks: checks.filter(({ check }) => !before('check', check)),
  };
}

function refuseWrong(context: Context, { phone, trace, job, events }: Place, fresh: Fresh): void {
  const { knowledge } = context;
  const { family } = phone;
  const open = openAfter(knowledge, events);
  for (const id of [...fresh.shown, ...fresh.denied]) {
    const symptom = knowledge.symptoms.get(id);
    if (symptom && fits(family, symptom)) continue;
    throw new Refusal({
      code: 'bad-option',
      problem: say`A ${packText(family.name)} cannot show "${packText(symptom?.name ?? id)}".`,
      expected: say`a symptom of this family`,
      option: 'shown',
    });
  }
  const both = fresh.denied.find((id) => open.has(id) || fresh.shown.includes(id));
  if (both !== undefined) {
    throw new Refusal({
      code: 'wrong-state',
      problem: say`It was said to show "${packText(knowledge.symptoms.get(both)?.name ?? both)}".`,
      expected: say`/trace back where that was a mistake; what has gone since is said as the answer to what was done`,
      option: 'denied',
    });
  }
  const strange = fresh.good.find((id) => !(id in family.components));
  if (strange !== undefined) {
    throw new Refusal({
      code: 'bad-option',
      problem: say`A ${packText(family.name)} has no ${packText(knowledge.components.get(strange)?.name ?? strange)}.`,
      expected: say`components of its family`,
      option: 'good',
    });
  }
  const state = trace ? stateOfTrace(context, trace) : job && stateOfJob(context, job);
  const barred = fresh.checks
    .flatMap(({ check: id }) => {
      const check = knowledge.checks.get(id);
      return check ? [check] : [];
    })
    .find((check) => state && barOn(state, safetyOf(check)) !== null);
  if (barred) {
    throw new Refusal({
      code: 'unsafe',
      problem: say`${packText(barred.name)} is barred: this phone is wet, or its cell is suspect.`,
      expected: say`to make it safe first`,
      example: '/danger show',
    });
  }
}

/**
 * What anybody would see who looks at the phone, and of which nothing has been said: asked for once, before the first step.
 * Nothing where something was done on it already, or where the phone as it is cannot show it.
 */
export function plainlyUnsaid(
  { knowledge }: Context,
  { family }: Phone,
  events: readonly BenchEvent[],
): Symptom[] {
  if (events.some(({ kind }) => kind === 'check' || kind === 'remedy' || kind === 'cannot')) return [];
  const open = openAfter(knowledge, events);
  const said = new Set(
    events.flatMap((event) => (event.kind === 'shown' || event.kind === 'denied' ? [event.id] : [])),
  );
  const now = { power: phonePowerOf([...open]), open: [...open] };
  return [...knowledge.symptoms.values()].filter(
    (one) => one.plainToSee && fits(family, one) && !said.has(one.id) && canTell(one.when, now),
  );
}
