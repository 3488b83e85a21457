/** The ends of a trace: mended, all gone, nothing else wrong, or stopped with the reason. */

import { planOf } from '../../shared/diagnosis/sets/kept-plans.ts';
import { isSelling, nextStep } from '../../shared/diagnosis/sets/next-step.ts';
import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import { packText, say } from '../../shared/language/say.ts';
import { onBack, reply, steps, text } from '../framework/reply.ts';
import { cardsForPhone, cardsOfState } from '../shared/caution-cards.ts';
import { jobChoice } from '../shared/find-job.ts';
import { mendedIn } from '../shared/find-trace.ts';
import { oddsBlock, stepName } from './any-step.ts';
import { toDisclose } from './remedy-step.ts';
import { dangerStep } from './safety-step.ts';
import { choice, logChoice, lookChoices } from './trace-choices.ts';
import { dataOf, type TraceDraft } from './trace-data.ts';
import { lowerOf, shown, type TraceDecision } from './trace-decision.ts';
import { lookBlocks } from './trace-look.ts';
import { pathBlocks } from './trace-path.ts';

/** The cell was all that was said to be wrong, and it has another one. */
export const nothingElse = ({ found }: TraceDecision): boolean =>
  found.state.newCell && found.state.wet !== 'wet' && found.open.length === 0;

export function afterNewCell(bench: TraceDecision): TraceDraft {
  const { context, trace, phone } = bench;
  const job = context.store.jobs.ofTrace(trace.number);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: it has a new cell, and nothing else was said to be wrong`,
    tone: 'good',
    blocks: [text(say`Next: test every function before it is sealed.`)],
    choices: [
      ...(job && !job.ended ? [jobChoice(job, say`Test its functions`, 'test')] : []),
      choice(bench, say`Stop here`, 'stop'),
    ],
    data: dataOf(bench, 'stop', null, null, null),
  });
}

export function reasonedStop(bench: TraceDecision, found: SetPlan, state: 'stop' | 'stopped'): TraceDraft {
  const { context, trace, phone } = bench;
  const next = found.alternatives.find((one) => one.action.kind !== 'end');
  const strip = bench.found.problem.ends.some((end) => end.id === 'strip') ? bench.found.stripValue : null;
  const sell = isSelling(found.action) ? lowerOf(found, found.action) : null;
  const name = next && stepName(context, next.action);
  const why =
    next && next.lower < 0
      ? say`The best step left, ${name ?? ''}, is expected to leave ${shown(bench, next.lower)}.`
      : next
        ? say`The best step left, ${name ?? ''}, is expected to leave ${shown(bench, next.lower)}; stopping leaves ${shown(bench, found.value)}.`
        : say`There is no check or remedy left to try.`;
  return reply({
    title:
      state === 'stopped'
        ? say`Trace ${trace.number}, ${phone.name}: stopped`
        : say`Trace ${trace.number}, ${phone.name}: stop here`,
    tone: 'caution',
    cautions: cardsOfState(context, bench.found.state),
    blocks: [
      ...lookBlocks(bench),
      text(why),
      ...(sell !== null && sell > 0 && bench.found.open.length
        ? [
            text(
              say`Sold as it is, with what is wrong told to the buyer, it is expected to leave ${shown(bench, sell)}.`,
            ),
          ]
        : []),
      ...(strip !== null
        ? [
            text(
              strip > 0
                ? say`Stripped for parts it is expected to leave ${shown(bench, strip)}.`
                : say`Stripping is not expected to pay its time; pass it on for recycling.`,
            ),
          ]
        : []),
      oddsBlock(bench),
      ...pathBlocks(bench),
      text(say`Next: /worth trace:${trace.number} compares restoring, stripping and passing at a price.`),
    ],
    choices: [
      ...lookChoices(bench),
      ...logChoice(bench),
      ...(state === 'stop' && next ? [choice(bench, say`Go on anyway: ${name ?? ''}`, 'next')] : []),
      ...(trace.steps.some((step) => !step.undone) && trace.state === 'open'
        ? [choice(bench, say`Go back`, 'back')]
        : []),
      ...(trace.state === 'open' ? [choice(bench, say`Stop here`, 'stop')] : []),
    ],
    data: dataOf(bench, state, found.action, found, null),
  });
}

/** All that was said to be wrong is gone, whether the trace is still open or not. */
export function allGone(bench: TraceDecision): TraceDraft {
  const { context, trace, phone, found } = bench;
  const job = context.store.jobs.ofTrace(trace.number);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: all that was wrong is gone`,
    tone: 'good',
    cautions: cardsForPhone(
      context,
      bench.subject,
      found.state,
      found.reached > 0 ? phone.family.close.hazards : [],
    ),
    blocks: [
      ...pathBlocks(bench),
      text(say`Before you seal it: ${packText(phone.family.close.note)}`),
      text(say`Next: test every function, then seal. /worth trace:${trace.number} says what it is worth.`),
    ],
    choices: [
      ...logChoice(bench),
      ...(job && !job.ended ? [jobChoice(job, say`Test its functions`, 'test')] : []),
      ...(trace.state === 'open'
        ? [choice(bench, say`Go back`, 'back'), choice(bench, say`It is done`, 'stop')]
        : []),
    ],
    data: dataOf(bench, 'mended', null, null, null),
  });
}

/** What the last remedy that made something go removed, likeliest first. */
const removedIn = ({ found }: TraceDecision) => found.belief.mended.at(-1)?.shares ?? [];

export function ended(bench: TraceDecision): TraceDraft {
  const { context, trace, phone } = bench;
  if (bench.found.state.danger !== 'none') return dangerStep(bench);
  const remedy = mendedIn(trace, context);
  if (!remedy)
    // A check may have been all that it needed, such as half an hour on a charger.
    return nextStep(bench.question, bench.found).kind === 'done'
      ? allGone(bench)
      : reasonedStop(bench, planOf(bench.found), 'stopped');
  const learnt = [...context.knowledge.lessons]
    .filter(({ about, ground }) => ground === 'practice' && about[0] === removedIn(bench)[0]?.fault.component)
    .slice(0, 3)
    .map(({ says }) => says);
  const likely = removedIn(bench);
  const job = context.store.jobs.ofTrace(trace.number);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: mended by ${packText(remedy.name)}`,
    tone: 'good',
    blocks: [
      ...pathBlocks(bench),
      text(say`The fault was most likely: ${likely[0] ? packText(likely[0].fault.name) : say`not known`}.`),
      text(say`Before you seal it: ${packText(phone.family.close.note)}`),
      ...onBack(
        ...toDisclose(remedy),
        ...(learnt.length
          ? [
              steps(
                learnt.map((one) => packText(one)),
                say`Worth knowing (common practice, no source)`,
                false,
              ),
            ]
          : []),
      ),
      text(say`Next: test every function, then seal. /worth trace:${trace.number} says what it is worth.`),
    ],
    choices: job && !job.ended ? [...logChoice(bench), jobChoice(job, say`Test its functions`, 'test')] : [],
    cautions: cardsForPhone(
      context,
      bench.subject,
      bench.found.state,
      bench.found.reached > 0 ? phone.family.close.hazards : [],
    ),
    data: dataOf(bench, 'mended', null, null, null),
  });
}
