/** What `/trace` and `/worth` share: finding the phone's family, its economics, and a trace's case. */
import type { Family, Remedy } from '../knowledge/schema.ts';
import { type Case, caseOf, type Evidence } from '../shared/diagnosis/case.ts';
import { type Learnt, learntFrom } from '../shared/diagnosis/learnt.ts';
import { counted, say } from '../shared/language/say.ts';
import { toMajor } from '../shared/money/money.ts';
import type { ModelRecord, TraceRecord } from '../shared/store/index.ts';
import { type Appraisal, appraise } from '../shared/worth/appraise.ts';
import { type Economics, economicsOf } from '../shared/worth/economics.ts';
import type { Context } from './context.ts';
import type { Named } from './lookup.ts';
import { Refusal } from './refusal.ts';

export interface Phone {
  /** What people call it. */
  name: string;
  family: Family;
  model: ModelRecord | null;
}

export const conditions = ['mint', 'good', 'fair', 'worn', 'poor'] as const;
export type Condition = (typeof conditions)[number];
/** Condition as a grade, 2 (mint) to -2 (poor). */
export const gradeOf = (condition: Condition): number => 2 - conditions.indexOf(condition);

export function familyById(context: Context, id: string): Family {
  const family = context.knowledge.families.get(id);
  if (family) return family;
  throw new Refusal({
    problem: say`The knowledge pack no longer has the family "${id}".`,
    expected: say`a family that is in it`,
    example: '/family name model:"Orrin K3" as:glued-front-home-sensor',
  });
}

/** The phone that `model:ID` or `family:ID` of the lookup names. */
export function phoneOf(context: Context, named: Named): Phone {
  const [kind, id = ''] = named.id.split(/:(.*)/s);
  if (kind === 'family') {
    const family = familyById(context, id);
    return { name: family.name, family, model: null };
  }
  const model = context.store.models.get(Number(id));
  if (!model)
    throw new Refusal({ problem: say`${named.name} is no longer named here.`, expected: '/family list' });
  return { name: model.name, family: familyById(context, model.family), model };
}

/** The phone that a trace is about. */
export function phoneOfTrace(context: Context, trace: TraceRecord): Phone {
  const family = familyById(context, trace.family);
  const model = trace.model === null ? null : context.store.models.get(trace.model);
  return { name: model?.name ?? family.name, family, model };
}

/**
 * The newest prices of a model that are weighed. Older ones would hardly move the answer (their spread, not their number,
 * is what is left of the doubt), and the answer must not get slower with every price.
 */
export const MOST_SIGHTINGS = 120;

export function economicsFor(
  context: Context,
  { family, model }: Phone,
  more: { grade?: number; storageGb?: number; value?: number } = {},
): Economics {
  const { store, knowledge, now, collective } = context;
  const newest = (kind: 'phone' | 'part') =>
    model ? store.sightings.list({ model: model.id, kind, limit: MOST_SIGHTINGS }) : [];
  return economicsOf({
    knowledge,
    family,
    settings: collective.settings,
    now,
    grade: more.grade ?? 0,
    ...(more.storageGb === undefined ? {} : { storageGb: more.storageGb }),
    ...(more.value === undefined ? {} : { value: more.value }),
    ...(model
      ? {
          model: {
            name: model.name,
            ...(model.launched ? { launched: new Date(`${model.launched}T00:00:00Z`) } : {}),
            ...(model.newPrice ? { newPrice: toMajor(model.newPrice) } : {}),
          },
        }
      : {}),
    sightings: newest('phone').map((one) => ({
      at: new Date(`${one.seen}T12:00:00Z`),
      price: toMajor(one.price),
      grade: one.grade ?? 0,
      asked: one.how === 'asked',
      ...(one.storage ? { storageLog2: Math.log2(one.storage) } : {}),
    })),
    parts: newest('part').flatMap((one) =>
      one.component && one.partGrade
        ? [{ component: one.component, grade: one.partGrade, price: toMajor(one.price) }]
        : [],
    ),
  });
}

/** What a saved trace has learnt so far, oldest first. */
export const evidenceOf = (trace: TraceRecord): Evidence[] =>
  trace.steps.flatMap((step): Evidence[] => {
    if (step.undone) return [];
    if (step.kind === 'check' && step.outcome !== null)
      return [{ kind: 'check', id: step.ref, outcome: step.outcome }];
    if (step.kind === 'remedy' && step.outcome === 'failed') return [{ kind: 'failed', id: step.ref }];
    if (step.kind === 'cannot') return [{ kind: 'cannot', id: step.ref }];
    if (step.kind === 'confirm') return [{ kind: 'isolated' }];
    return [];
  });

/** The remedy that ended a trace with a working phone. */
export function mendedIn(trace: TraceRecord, { knowledge }: Context): Remedy | null {
  if (trace.state !== 'ended') return null;
  const last = trace.steps.findLast(
    (step) => !step.undone && step.kind === 'remedy' && step.outcome === 'works',
  );
  return (last && knowledge.remedies.get(last.ref)) ?? null;
}

/** The pack as the collective's closed jobs have moved it. */
export const learntIn = ({ knowledge, store }: Context): Learnt =>
  learntFrom(knowledge, store.lessons.read());

/** How many closed jobs stand behind the odds for a family, in words. */
export function jobsBehind(context: Context, family: Family): string {
  const { family: own, all } = learntIn(context).jobs(family);
  if (!all) return say`no closed jobs here yet`;
  return counted(
    all,
    '{0} closed job here, {1} of this family',
    '{0} closed jobs here, {1} of this family',
    own,
  );
}

export function caseFor(
  context: Context,
  family: Family,
  symptoms: readonly string[],
  evidence: readonly Evidence[],
  economics: Economics,
): Case {
  const learnt = learntIn(context);
  const weights = learnt.weights(family);
  const found = caseOf({
    knowledge: learnt.knowledge,
    family,
    symptoms,
    evidence,
    economics,
    ...(weights ? { weights } : {}),
  });
  if (found) return found;
  throw new Refusal({
    problem: say`No fault in the knowledge pack explains all of that together.`,
    expected: say`fewer symptoms, or a check answered again`,
    example: '/trace back',
  });
}

export interface PhoneQuestion {
  /** In major units. */
  price: number;
  /** Condition when sold, 2 (mint) to -2 (poor). */
  grade: number;
  storageGb?: number;
  /** What it sells for, in major units, where the asker knows. */
  value?: number;
  symptoms: readonly string[];
  evidence?: readonly Evidence[];
  /** Components known to be broken; when they are given and no symptom is, nothing else is wrong. */
  damage?: readonly string[];
  mendedBy?: Remedy | null;
}

/** Restore, strip or pass for a phone: what `/worth` answers and what a job is opened with. */
export function appraisePhone(
  context: Context,
  phone: Phone,
  { price, symptoms, evidence = [], damage, mendedBy = null, ...more }: PhoneQuestion,
): { economics: Economics; bench: Case; result: Appraisal; faulty: boolean } {
  const economics = economicsFor(context, phone, more);
  const bench = caseFor(context, phone.family, symptoms, evidence, economics);
  const faulty = !mendedBy && (symptoms.length > 0 || !damage);
  const result = appraise({
    knowledge: context.knowledge,
    family: phone.family,
    bench,
    economics,
    settings: context.collective.settings,
    price,
    damage: damage ?? [],
    faulty,
    mendedBy,
  });
  return { economics, bench, result, faulty };
}

/** The trace that is meant: by its number, else the asker's newest open one, else the only open one. */
export function traceMeant(context: Context, number: number | undefined): TraceRecord {
  const { store, person } = context;
  if (number !== undefined) {
    const found = store.traces.get(number);
    if (found) return found;
    throw new Refusal({
      problem: say`There is no trace ${number} here.`,
      expected: say`a number from /trace list`,
      option: 'trace',
    });
  }
  const open = store.traces.listOpen();
  const own = open.filter((trace) => trace.startedBy === person.name);
  const meant = own[0] ?? (open.length === 1 ? open[0] : undefined);
  if (meant) return meant;
  throw new Refusal(
    open.length
      ? {
          problem: say`Several traces are open.`,
          expected: say`trace: and its number`,
          example: `/trace show ${open[0]?.number}`,
        }
      : {
          problem: say`No trace is open.`,
          expected: say`a new one`,
          example: '/trace "dead" model:"Orrin K3"',
        },
  );
}
