/** All that is needed to answer about one trace: the phone, what is believed of it, its money. */

import type { SetCase } from '../../shared/diagnosis/sets/set-case.ts';
import type { SetCaseQuestion } from '../../shared/diagnosis/sets/set-case-question.ts';
import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import type { SetAction } from '../../shared/diagnosis/sets/set-problem.ts';
import type { Economics } from '../../shared/economics/economics.ts';
import type { Message } from '../../shared/language/message.ts';
import { amount, fromMajor } from '../../shared/money/money.ts';
import type { PhoneSubject, TraceRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { economicsFor, setCaseFor, setQuestionFor } from '../shared/appraise-phone.ts';
import { benchEventsOf, damageOf } from '../shared/find-trace.ts';
import { type Phone, phoneOfTrace } from '../shared/phone.ts';
import { stateOfTrace, subjectOfTrace } from '../shared/phone-state.ts';

export interface TraceDecision {
  context: Context;
  trace: TraceRecord;
  phone: Phone;
  economics: Economics;
  question: SetCaseQuestion;
  found: SetCase;
  subject: PhoneSubject;
}

export function traceDecisionOf(context: Context, trace: TraceRecord): TraceDecision {
  const phone = phoneOfTrace(context, trace);
  const economics = economicsFor(context, phone);
  const question = setQuestionFor(
    context,
    phone.family,
    benchEventsOf(context, trace),
    economics,
    stateOfTrace(context, trace),
    damageOf(context, trace),
  );
  return {
    context,
    trace,
    phone,
    economics,
    question,
    found: setCaseFor(question),
    subject: subjectOfTrace(context, trace),
  };
}

export const moneyOnBench = (bench: TraceDecision, sum: number) => fromMajor(sum, bench.economics.currency);
export const shown = (bench: TraceDecision, sum: number): Message => amount(moneyOnBench(bench, sum));

/** Choices about the phone's state are bound to whatever keeps it: its job, else the trace. */
export const revisionOf = ({ store }: Context, { kind, number }: PhoneSubject, trace: TraceRecord): number =>
  kind === 'job' ? (store.jobs.get(number)?.revision ?? 0) : trace.revision;

/** The expected net of doing a step first. */
export const lowerOf = ({ alternatives, value }: SetPlan, step: SetAction): number =>
  alternatives.find(({ action }) => action.kind === step.kind && action.id === step.id)?.lower ?? value;
