/** The options that several of `/trace`'s actions share, and the trace and the step that are meant. */

import { fits } from '../../knowledge/features.ts';
import type { Check, Remedy } from '../../knowledge/schema.ts';
import { nextStep } from '../../shared/diagnosis/sets/next-step.ts';
import { whyNoWork } from '../../shared/jobs/rules.ts';
import { packText, say, typed } from '../../shared/language/say.ts';
import type { TraceRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { integerOption, lookupOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { traceMeant } from '../shared/find-trace.ts';
import { traceSteps } from '../shared/lookups.ts';
import { traceDecisionOf } from './trace-decision.ts';

export const traceOption = optional(
  integerOption({
    summary: say`The number of the trace; without it, your newest open one`,
    example: '3',
    min: 1,
    max: 1e9,
  }),
);

export const openTrace = (context: Context, number: number | undefined): TraceRecord => {
  const trace = traceMeant(context, number);
  if (trace.state === 'open') return trace;
  throw new Refusal({
    code: 'wrong-state',
    problem: say`Trace ${trace.number} has ended.`,
    expected: say`an open trace; /trace list shows them`,
    example: `/trace show ${trace.number}`,
  });
};

export const stepOption = optional(
  lookupOption({
    summary: say`The check or remedy it answers; without it, the one asked`,
    example: 'Current at the charger',
    lookup: traceSteps,
  }),
);

/** The step an answer is for; refuses when the trace has moved on to another. */
export function askedStep(context: Context, trace: TraceRecord, given: Named | undefined): Check | Remedy {
  const bench = traceDecisionOf(context, trace);
  const next = nextStep(bench.question, bench.found, true);
  if (next.kind === 'danger') {
    throw new Refusal({
      code: 'unsafe',
      problem: say`The cell comes first: nothing is done on this phone while it may be dangerous.`,
      expected: say`to say what was done about it`,
      example: `/danger show trace:${trace.number}`,
    });
  }
  const asked = next.kind === 'check' || next.kind === 'remedy' ? next.action.id : undefined;
  const id = given?.id ?? asked;
  const step =
    id === undefined ? undefined : (context.knowledge.checks.get(id) ?? context.knowledge.remedies.get(id));
  if (!step || !fits(bench.phone.family, step)) {
    throw new Refusal({
      code: 'not-found',
      problem: say`This trace has no step "${typed(id ?? '')}".`,
      expected: say`the step that was asked`,
      option: 'step',
      example: `/trace show ${trace.number}`,
    });
  }
  if (bench.found.barOn(step) !== null) {
    throw new Refusal({
      code: 'unsafe',
      problem: say`${packText(step.name)} is barred: this phone is wet, and nothing that charges or powers it is done before it is cleaned inside and dry.`,
      expected: say`the cleaning first`,
      option: 'step',
      example: `/danger cleaned trace:${trace.number}`,
    });
  }
  const job = step.access === 'board' ? context.store.jobs.ofTrace(trace.number) : null;
  const blocked = job && whyNoWork(job);
  if (job && blocked) {
    throw new Refusal({
      code: 'wrong-state',
      problem: say`${blocked.problem}. Its board is not worked on.`,
      expected: blocked.expected,
      example: `/job show job:${job.number}`,
    });
  }
  if (trace.steps.some((one) => !one.undone && one.ref === step.id)) {
    throw new Refusal({
      code: 'wrong-state',
      problem: say`${packText(step.name)} is answered already.`,
      expected: say`the step asked now, or go back`,
      example: `/trace show ${trace.number}`,
      option: 'step',
    });
  }
  return step;
}
