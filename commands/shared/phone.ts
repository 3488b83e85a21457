/** The phone that is meant, and what people say of its condition. */

import type { Family } from '../../knowledge/schema.ts';
import type { JobRecord } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import { packText, say, typed, verbatim } from '../../shared/language/say.ts';
import type { ModelRecord, TraceRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { Refusal } from '../framework/refusal.ts';

export interface Phone {
  /** What people call it. */
  name: Message;
  family: Family;
  model: ModelRecord | null;
}

export const conditions = ['mint', 'good', 'fair', 'worn', 'poor'] as const;
export type Condition = (typeof conditions)[number];
export const conditionWords: Readonly<Record<Condition, Message>> = {
  mint: say`mint`,
  good: say`good`,
  fair: say`fair`,
  worn: say`worn`,
  poor: say`poor`,
};
/** Condition as a grade, 2 (mint) to -2 (poor). */
export const gradeOf = (condition: Condition): number => 2 - conditions.indexOf(condition);

export function familyById(context: Context, id: string): Family {
  const family = context.knowledge.families.get(id);
  if (family) return family;
  throw new Refusal({
    code: 'unavailable',
    problem: say`The knowledge pack no longer has the family "${verbatim(id)}".`,
    expected: say`a family that is in it`,
    example: '/family name model:"Orrin K3" as:glued-front-home-sensor',
  });
}

/** The phone that `model:ID` or `family:ID` of the lookup names. */
export function phoneOf(context: Context, named: Named): Phone {
  const [kind, id = ''] = named.id.split(/:(.*)/s);
  if (kind === 'family') {
    const family = familyById(context, id);
    return { name: packText(family.name), family, model: null };
  }
  const model = context.store.models.get(Number(id));
  if (!model)
    throw new Refusal({
      code: 'not-found',
      problem: say`${verbatim(named.name)} is no longer named here.`,
      expected: typed('/family list'),
    });
  return { name: verbatim(model.name), family: familyById(context, model.family), model };
}

/** The phone that a trace is about. */
export function phoneOfTrace(context: Context, trace: TraceRecord): Phone {
  const family = familyById(context, trace.family);
  const model = trace.model === null ? null : context.store.models.get(trace.model);
  return { name: model ? verbatim(model.name) : packText(family.name), family, model };
}

export function phoneOfJob(context: Context, job: JobRecord): Phone {
  const family = familyById(context, job.family);
  const model = job.model === null ? null : context.store.models.get(job.model);
  return { name: model ? verbatim(model.name) : packText(family.name), family, model };
}
