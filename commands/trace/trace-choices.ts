/** The choices of a trace's replies: an action of the trace, its log, the phone's state, what every step offers. */

import { accessLevels, type Check, type Hazard, type Remedy } from '../../knowledge/schema.ts';
import { hazardsOfStep } from '../../shared/diagnosis/sets/next-step.ts';
import { fittedNow } from '../../shared/jobs/hand-over.ts';
import type { Message } from '../../shared/language/message.ts';
import { packText, say } from '../../shared/language/say.ts';
import { amount, fromMajor, toWire } from '../../shared/money/money.ts';
import type { TraceRecord } from '../../shared/store/index.ts';
import type { DraftChoice } from '../framework/reply.ts';
import { unsafeChoice } from '../shared/danger-reply.ts';
import { jobChoice } from '../shared/find-job.ts';
import { componentName } from '../shared/words.ts';
import { revisionOf, type TraceDecision } from './trace-decision.ts';
import { unsaidOf } from './trace-look.ts';

/** Hazards with which a cell can be seen, or made, dangerous: their steps offer to say so. */
const nearTheCell: readonly Hazard[] = [
  'heats',
  'pries',
  'presses',
  'charges',
  'live-supply',
  'punctures',
  'cuts',
];

/** What can be said at a step of the state of the phone. */
function stateChoices(bench: TraceDecision, step: Check | Remedy): DraftChoice[] {
  const { phone, found, subject, trace, context } = bench;
  const opens = accessLevels.indexOf(step.access) > found.reached;
  const near = hazardsOfStep(phone.family, found.reached, step).some((hazard) =>
    nearTheCell.includes(hazard),
  );
  return opens || near ? [unsafeChoice(subject, revisionOf(context, subject, trace))] : [];
}

const numbered = (trace: TraceRecord) => ({ trace: String(trace.number) });

export function choice(
  bench: TraceDecision,
  label: Message,
  action: string,
  options: Record<string, string> = {},
): DraftChoice {
  const { trace } = bench;
  return {
    label,
    ...(action === 'answer' || action === 'next' ? {} : { aside: true }),
    invoke: { command: 'trace', action, options: { ...options, ...numbered(trace) } },
    subject: `trace:${trace.number}`,
    revision: trace.revision,
    open: true,
  };
}

/** The remedy that was just done, as an entry of its job in one tap: its part, the price reckoned with, and its minutes. */
export function logChoice(bench: TraceDecision): DraftChoice[] {
  const { context, trace, economics } = bench;
  const job = context.store.jobs.ofTrace(trace.number);
  // What is said in between, and no step, leaves it on offer.
  const last = trace.steps.findLast(({ undone, kind }) => !undone && (kind === 'check' || kind === 'remedy'));
  const remedy = last?.kind === 'remedy' ? context.knowledge.remedies.get(last.ref) : undefined;
  if (!job || job.ended || !last || !remedy) return [];
  const fitted = fittedNow(job).filter(({ entry }) => entry.part !== undefined);
  // One from the shelf is in the job already, with its price.
  const [part] = remedy.parts.filter(
    ({ component }) => !fitted.some(({ entry }) => entry.component === component),
  );
  // One that changed nothing is taken back: its part goes back to stock, its time is spent.
  if (!part || last.outcome === 'failed')
    return [
      jobChoice(job, say`Log it: ${remedy.minutes} min`, 'log', {
        minutes: String(remedy.minutes),
        text: context.write(packText(remedy.name)),
      }),
    ];
  const price = fromMajor(economics.part(part.component, part.grade).price, economics.currency);
  return [
    jobChoice(
      job,
      say`Log it: ${componentName(context, part.component)}, ${amount(price)}, ${remedy.minutes} min`,
      'log',
      {
        fitted: part.component,
        grade: part.grade,
        out: toWire(price).amount,
        minutes: String(remedy.minutes),
      },
    ),
  ];
}

export const lookChoices = (bench: TraceDecision): DraftChoice[] => {
  const unsaid = unsaidOf(bench);
  if (!unsaid.length) return [];
  return [
    ...unsaid.map(({ id, name }) => choice(bench, say`Seen: ${packText(name)}`, 'note', { shown: id })),
    choice(bench, say`Nothing else to see`, 'note', { look: 'nothing-else' }),
  ];
};

export const everyStepChoices = (bench: TraceDecision, step: Check | Remedy): DraftChoice[] => [
  ...logChoice(bench),
  ...stateChoices(bench, step),
  ...lookChoices(bench),
  choice(bench, say`Can't do that`, 'cannot', { step: step.id }),
  ...(bench.trace.steps.some((step) => !step.undone) ? [choice(bench, say`Go back`, 'back')] : []),
  choice(bench, say`Stop here`, 'stop'),
];
