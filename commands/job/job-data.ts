/** What `/job` answers besides words: the data of one job. */

import { z } from 'zod';
import { questions, waitsFor } from '../../shared/jobs/entry.ts';
import {
  answersOf,
  endingSchema,
  endings,
  type JobRecord,
  jobStateOf,
  jobStates,
  listingOf,
  testsOf,
  totalsOf,
} from '../../shared/jobs/job.ts';
import { waitingOf } from '../../shared/jobs/waiting.ts';
import { moneyWire, toWire } from '../../shared/money/money.ts';
import { saidFacts } from '../../shared/phone/event.ts';
import { dangers, wetnesses } from '../../shared/phone/state.ts';
import type { Context } from '../framework/context.ts';
import type { Draft } from '../framework/reply.ts';
import { untestedOf } from '../shared/job-words.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { dayIn } from '../shared/words.ts';

export const jobData = z.object({
  job: z.number().int(),
  revision: z.number().int(),
  state: z.enum(jobStates),
  danger: z.enum(dangers),
  wet: z.enum(wetnesses),
  /** What was ever stated of its phone. */
  facts: z.array(z.enum(saidFacts)),
  model: z.string().nullable(),
  family: z.string(),
  came: z.string(),
  holder: z.string(),
  waits: z.object({ for: z.enum(waitsFor), until: z.string().nullable(), note: z.string() }).nullable(),
  imei: z.string().nullable(),
  answers: z.record(z.enum(questions), z.string().nullable()),
  out: moneyWire,
  back: moneyWire,
  /** What a kept phone is worth in use; in the net. */
  worth: moneyWire,
  net: moneyWire,
  /** What is asked for it, and the day since when; null where it is not offered. */
  listed: z.object({ asked: moneyWire, since: z.string() }).nullable(),
  minutes: z.number(),
  promise: z.object({ mean: moneyWire, low: moneyWire, high: moneyWire, minutes: z.number() }),
  tests: z.array(z.object({ function: z.string(), result: z.string(), reason: z.string() })),
  untested: z.array(z.string()),
  entries: z.array(z.object({ seq: z.number(), kind: z.string(), by: z.string(), struck: z.boolean() })),
  ended: z
    .object({
      as: z.enum(endings),
      kept: z.boolean(),
      fault: z.string().nullable(),
      sealed: endingSchema.shape.sealed,
    })
    .nullable(),
});
/** The same, with what was removed. */
export const jobWipedData = jobData.extend({
  wiped: z.object({ job: z.number().int(), entry: z.number().int() }),
});
export type JobDraft = Draft<z.infer<typeof jobData>>;
export type JobData = z.infer<typeof jobData>;

export function jobDataOf(context: Context, job: JobRecord): JobData {
  const state = stateOfJob(context, job);
  const { out, back, worth, net, minutes } = totalsOf(job);
  const listed = listingOf(job);
  const phone = phoneOfJob(context, job);
  const { mean, low, high } = job.promise;
  const waits = waitingOf(job);
  return {
    job: job.number,
    revision: job.revision,
    state: jobStateOf(job, state),
    danger: state.danger,
    wet: state.wet,
    facts: state.facts.map(({ fact }) => fact),
    model: phone.model?.name ?? null,
    family: job.family,
    came: job.came,
    holder: job.holder.name,
    waits: waits && { for: waits.for, until: waits.until, note: waits.note },
    imei: job.imeiLast && `…${job.imeiLast}`,
    answers: answersOf(job),
    out: toWire(out),
    back: toWire(back),
    worth: toWire(worth),
    net: toWire(net),
    listed: listed && { asked: toWire(listed.asked), since: dayIn(context, listed.since) },
    minutes,
    promise: { mean: toWire(mean), low: toWire(low), high: toWire(high), minutes: job.promise.minutes },
    tests: [...testsOf(job)].map(([id, { result, reason }]) => ({ function: id, result, reason })),
    untested: untestedOf(context, job).map(({ id }) => id),
    entries: job.entries.map((logged) => ({
      seq: logged.seq,
      kind: logged.entry.kind,
      by: logged.by.name,
      struck: logged.struck !== null,
    })),
    ended: job.ended && {
      as: job.ended.as,
      kept: job.ended.ending.kept,
      fault: job.ended.ending.fault,
      sealed: job.ended.ending.sealed,
    },
  };
}
