/** What is shown with any step: its cautions, the odds, and how to get at it. */

import { accessLevels, type Check, type Remedy } from '../../knowledge/schema.ts';
import { hazardsOfStep } from '../../shared/diagnosis/sets/next-step.ts';
import type { SetAction } from '../../shared/diagnosis/sets/set-problem.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, joined, packText, say } from '../../shared/language/say.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, type DraftCard, onBack, steps, text } from '../framework/reply.ts';
import { jobsBehind } from '../shared/appraise-phone.ts';
import { cardsForPhone } from '../shared/caution-cards.ts';
import { percent } from '../shared/words.ts';
import type { TraceDecision } from './trace-decision.ts';

/** A chance below this is not told. */
export const MATTERS = 0.05;

/** The cards of a step: those of the phone's state, of the step, and of getting to it. */
export const cardsOf = (
  { context, subject, found, phone }: TraceDecision,
  step: Check | Remedy,
): DraftCard[] =>
  cardsForPhone(context, subject, found.state, hazardsOfStep(phone.family, found.reached, step));

/** Whether a step has to wait until the phone is open. */
export const opensFor = ({ found }: TraceDecision, { access }: Check | Remedy): boolean =>
  found.reached < 1 && accessLevels.indexOf(access) >= 1;

export function oddsBlock({ found, context, phone }: TraceDecision): DraftBlock {
  const top = found.belief.odds.slice(0, 5).filter(({ share }) => share >= 0.01);
  return {
    back: true,
    kind: 'bars',
    heading: say`Chance that it has this (common practice, no source; ${jobsBehind(context, phone.family)})`,
    bars: top.map(({ fault, share }) => ({ label: packText(fault.name), share })),
  };
}

/** The two likeliest, in a line. */
export function likeliest({ found }: TraceDecision): DraftBlock[] {
  const top = found.belief.odds.slice(0, 2).filter(({ share }, at) => share >= (at ? MATTERS : 0.01));
  if (!top.length) return [];
  const named = top.map(({ fault, share }) => joined([packText(fault.name), percent(share)]));
  return [text(say`Likeliest: ${inRow(named)}.`)];
}

export function gettingIn({ phone, found }: TraceDecision, step: Check | Remedy): DraftBlock[] {
  const { board } = phone.family;
  if (found.reached >= 2 || accessLevels.indexOf(step.access) < 2) return [];
  return onBack(
    steps(
      board.steps.map((one) => packText(one)),
      say`Board out (about ${board.minutes} min)`,
    ),
  );
}

/** What has to be done first to get at it, with its minutes; how is on the back. */
export const reachFirst = ({ phone, found }: TraceDecision, step: Check | Remedy): Message | '' =>
  found.reached < 2 && accessLevels.indexOf(step.access) >= 2
    ? say`First take the board out, about ${phone.family.board.minutes} min.`
    : '';

export const stepName = ({ knowledge }: Context, { kind, id }: SetAction): Message =>
  packText((kind === 'check' ? knowledge.checks.get(id)?.name : knowledge.remedies.get(id)?.name) ?? id);
