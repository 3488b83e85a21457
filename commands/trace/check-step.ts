/** The step that is a check: what to do, what each answer would mean, what going on gains. */

import type { Check } from '../../knowledge/schema.ts';
import type { SetStep } from '../../shared/diagnosis/sets/next-set-step.ts';
import { netOfStopping } from '../../shared/diagnosis/sets/next-step.ts';
import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import type { SetAction } from '../../shared/diagnosis/sets/set-problem.ts';
import type { Message } from '../../shared/language/message.ts';
import { joined, listWords, packText, say, typed } from '../../shared/language/say.ts';
import { onBack, reply, text } from '../framework/reply.ts';
import { benchTableBlocks } from '../shared/bench-table.ts';
import { percent, sourcesOf } from '../shared/words.ts';
import { cardsOf, gettingIn, likeliest, MATTERS, oddsBlock, reachFirst } from './any-step.ts';
import { choice, everyStepChoices } from './trace-choices.ts';
import { dataOf, stepInput, type TraceDraft } from './trace-data.ts';
import { lowerOf, shown, type TraceDecision } from './trace-decision.ts';
import { lookBlocks } from './trace-look.ts';
import { pathBlocks } from './trace-path.ts';

/** What going on gains; a limit only where it is tight. */
function gains(bench: TraceDecision, found: SetPlan, gain: number): Message | '' {
  if (gain <= 0) return '';
  if (found.exact && bench.found.uncut)
    return say`Going on is expected to gain ${shown(bench, gain)} over stopping now, the most that any plan can.`;
  const limit = gain + found.gap;
  if (found.gap > TIGHT * gain)
    return say`Going on is expected to gain ${shown(bench, gain)} over stopping now.`;
  return say`Going on is expected to gain ${shown(bench, gain)} over stopping now; no plan can gain more than ${shown(bench, limit)}.`;
}
/** A limit further off than this share of the gain says nothing. */
const TIGHT = 0.25;

/** A fault that an answer leaves less of than this share of its odds is cleared by it. */
const CLEARED = 0.25;

/** What each answer would mean: which fault leads after it, or which it clears. */
function meanings({ found }: TraceDecision, check: Check): Message[] {
  const { problem, belief } = found;
  const form = problem.checks.find(({ id }) => id === check.id)?.forms.at(-1);
  if (!form) return [];
  const marginals = (weightOf: (h: number) => number): Float64Array => {
    const of = new Float64Array(belief.faults.length);
    let total = 0;
    problem.hypotheses.forEach(({ faults }, h) => {
      const weight = weightOf(h);
      total += weight;
      for (const fault of faults) of[fault] = (of[fault] ?? 0) + weight;
    });
    return total > 0 ? of.map((one) => one / total) : of;
  };
  const before = marginals((h) => problem.hypotheses[h]?.weight ?? 0);
  const name = (fault: number) => packText(belief.faults[fault]?.name ?? '');
  return check.outcomes.flatMap((outcome, o) => {
    const chance = problem.hypotheses.reduce(
      (sum, one, h) => sum + one.weight * (form.given[o]?.[h] ?? 0),
      0,
    );
    if (chance < MATTERS) return [];
    const now = marginals((h) => (problem.hypotheses[h]?.weight ?? 0) * (form.given[o]?.[h] ?? 0));
    let lead = 0;
    now.forEach((share, fault) => {
      if (share > (now[lead] ?? 0)) lead = fault;
    });
    const rises = (now[lead] ?? 0) > (before[lead] ?? 0);
    const cleared = [...now.keys()].filter(
      (fault) => (before[fault] ?? 0) >= 2 * MATTERS && (now[fault] ?? 0) < CLEARED * (before[fault] ?? 0),
    );
    const says = packText(outcome.says);
    if (rises) return [say`${says}: ${name(lead)} (${percent(now[lead] ?? 0)})`];
    const [first] = cleared;
    return first === undefined
      ? [say`${says}: still ${name(lead)} (${percent(now[lead] ?? 0)})`]
      : [say`${says}: not ${name(first)}`];
  });
}

export function askCheck(
  bench: TraceDecision,
  found: SetPlan,
  action: SetAction,
  check: Check,
  why: SetStep['why'],
): TraceDraft {
  const { context, trace, phone } = bench;
  const gain = lowerOf(found, action) - netOfStopping(found);
  const means = meanings(bench, check);
  const reach = gettingIn(bench, check);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: ${packText(check.name)}`,
    cautions: cardsOf(bench, check),
    blocks: [
      ...lookBlocks(bench),
      text(packText(check.ask)),
      ...benchTableBlocks(context, check, phone.model),
      text(
        joined([
          reachFirst(bench, check),
          check.needs.length
            ? say`You need: ${listWords(check.needs.map((one) => packText(one)))}. About ${check.minutes} min.`
            : say`About ${check.minutes} min.`,
          check.unit ? say`Or type what you read: ${typed(`/trace answer "0.00 ${check.unit}"`)}.` : '',
        ]),
      ),
      ...likeliest(bench),
      ...reach,
      oddsBlock(bench),
      ...pathBlocks(bench),
      ...onBack(
        text(
          joined([
            why === 'first'
              ? say`Why this one: a closed, quick look that comes before the phone is opened.`
              : why === 'eyes'
                ? say`Why this one: a look before money is spent.`
                : '',
            means.length ? say`What each answer would mean: ${joined(means, '; ')}.` : '',
            gains(bench, found, gain),
          ]),
        ),
      ),
    ],
    choices: [
      ...check.outcomes.map((outcome) =>
        choice(bench, packText(outcome.says), 'answer', { says: outcome.id, step: check.id }),
      ),
      ...(check.unit
        ? [{ ...choice(bench, say`Type what you read`, 'answer', { step: check.id }), fill: 'says' }]
        : []),
      ...everyStepChoices(bench, check),
    ],
    sources: sourcesOf(context.knowledge, [check.ground]),
    data: dataOf(bench, 'asking', action, found, check.minutes, [stepInput(context, check)]),
  });
}
