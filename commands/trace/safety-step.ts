/** The steps that come before every other: a dangerous cell, and a wet phone that no remedy of the pack cleans. */

import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import { say } from '../../shared/language/say.ts';
import { reply, text } from '../framework/reply.ts';
import { cardsOfState } from '../shared/caution-cards.ts';
import { dangerChoice, dangerReply } from '../shared/danger-reply.ts';
import { oddsBlock } from './any-step.ts';
import { choice } from './trace-choices.ts';
import { dataOf, type TraceDraft } from './trace-data.ts';
import { revisionOf, type TraceDecision } from './trace-decision.ts';

/** The dangerous cell comes before every question. */
export function dangerStep(bench: TraceDecision): TraceDraft {
  const { context, trace, phone, subject, found } = bench;
  const danger = dangerReply(context, subject, revisionOf(context, subject, trace), found.state);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: ${danger?.says ?? ''}`,
    tone: 'danger',
    cautions: danger?.cautions ?? [],
    blocks: danger?.blocks ?? [],
    choices: [
      ...(danger?.choices ?? []),
      ...(trace.state === 'open' ? [choice(bench, say`Stop here`, 'stop')] : []),
    ],
    data: dataOf(bench, 'danger', null, null, null),
  });
}

/** A wet phone that no remedy of the pack cleans: somebody says when it is clean and dry. */
export function dryFirst(bench: TraceDecision, plan: SetPlan): TraceDraft {
  const { context, trace, phone, subject, found } = bench;
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: clean it inside and let it dry first`,
    tone: 'caution',
    cautions: cardsOfState(context, found.state),
    blocks: [
      text(
        say`Nothing that charges or powers it comes before that. Open it, clean off what the liquid left, let it dry, and say so.`,
      ),
      oddsBlock(bench),
    ],
    choices: [
      dangerChoice(
        subject,
        revisionOf(context, subject, trace),
        say`It is cleaned inside and dry`,
        'cleaned',
      ),
      choice(bench, say`Stop here`, 'stop'),
    ],
    data: dataOf(bench, 'dry', null, plan, null),
  });
}
