/** What `/trace` and `/worth` share: finding the phone's family, its economics, and a trace's case. */
import type { Family, Remedy } from '../knowledge/schema.ts';
import { type Case, caseOf, type Evidence } from '../shared/diagnosis/case.ts';
import { toMajor } from '../shared/money/money.ts';
import type { ModelRecord, TraceRecord } from '../shared/store/index.ts';
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
    problem: `The knowledge pack no longer has the family "${id}".`,
    expected: 'a family that is in it',
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
    throw new Refusal({ problem: `${named.name} is no longer named here.`, expected: '/family list' });
  return { name: model.name, family: familyById(context, model.family), model };
}

/** The phone that a trace is about. */
export function phoneOfTrace(context: Context, trace: TraceRecord): Phone {
  const family = familyById(context, trace.family);
  const model = trace.model === null ? null : context.store.models.get(trace.model);
  return { name: model?.name ?? family.name, family, model };
}

export function economicsFor(
  context: Context,
  { family, model }: Phone,
  more: { grade?: number; storageGb?: number; value?: number } = {},
): Economics {
  const { store, knowledge, now, collective } = context;
  const seen = model ? store.sightings.list({ model: model.id }) : [];
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
    sightings: seen
      .filter((one) => one.kind === 'phone')
      .map((one) => ({
        at: new Date(`${one.seen}T12:00:00Z`),
        price: toMajor(one.price),
        grade: one.grade ?? 0,
        asked: one.how === 'asked',
        ...(one.storage ? { storageLog2: Math.log2(one.storage) } : {}),
      })),
    parts: seen.flatMap((one) =>
      one.kind === 'part' && one.component && one.partGrade
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

export function caseFor(
  context: Context,
  family: Family,
  symptoms: readonly string[],
  evidence: readonly Evidence[],
  economics: Economics,
): Case {
  const found = caseOf({ knowledge: context.knowledge, family, symptoms, evidence, economics });
  if (found) return found;
  throw new Refusal({
    problem: 'No fault in the knowledge pack explains all of that together.',
    expected: 'fewer symptoms, or a check answered again',
    example: '/trace back',
  });
}

/** The trace that is meant: by its number, else the asker's newest open one, else the only open one. */
export function traceMeant(context: Context, number: number | undefined): TraceRecord {
  const { store, person } = context;
  if (number !== undefined) {
    const found = store.traces.get(number);
    if (found) return found;
    throw new Refusal({
      problem: `There is no trace ${number} here.`,
      expected: 'a number from /trace list',
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
          problem: 'Several traces are open.',
          expected: 'trace: and its number',
          example: `/trace show ${open[0]?.number}`,
        }
      : { problem: 'No trace is open.', expected: 'a new one', example: '/trace "dead" model:"Orrin K3"' },
  );
}
