/** Writes down what was said of a phone in a trace, and the danger that the odds then add; answers for the trace as it stands. */
import type { PhoneEvent } from '../../shared/phone/event.ts';
import type { Context } from '../framework/context.ts';
import { traceMeant } from '../shared/find-trace.ts';
import { addPhoneEvents, stateOfTrace, subjectOfTrace } from '../shared/phone-state.ts';
import { traceReply } from './reply.ts';
import type { TraceDraft } from './trace-data.ts';
import { traceDecisionOf } from './trace-decision.ts';

export function settled(context: Context, number: number, events: readonly PhoneEvent[]): TraceDraft {
  const subject = subjectOfTrace(context, traceMeant(context, number));
  addPhoneEvents(context, subject, events);
  const trace = traceMeant(context, number);
  if (trace.state === 'open' && stateOfTrace(context, trace).danger === 'none') {
    const { danger } = traceDecisionOf(context, trace).found.state;
    if (danger !== 'none')
      addPhoneEvents(context, subject, [{ kind: 'fact', fact: 'swollen', ground: 'odds', ref: '' }]);
  }
  return traceReply(context, traceMeant(context, number));
}
