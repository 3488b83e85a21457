/** The step that opens the phone. */

import type { Check, Remedy } from '../../knowledge/schema.ts';
import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import type { SetAction } from '../../shared/diagnosis/sets/set-problem.ts';
import { counted, joined, listWords, packText, say } from '../../shared/language/say.ts';
import { onBack, reply, steps, text } from '../framework/reply.ts';
import { cardsForPhone } from '../shared/caution-cards.ts';
import { sourcesOf } from '../shared/words.ts';
import { likeliest, oddsBlock } from './any-step.ts';
import { choice, everyStepChoices } from './trace-choices.ts';
import { dataOf, type TraceDraft } from './trace-data.ts';
import type { TraceDecision } from './trace-decision.ts';
import { lookBlocks } from './trace-look.ts';
import { pathBlocks } from './trace-path.ts';

/** Opening the phone is a step of its own: with its own cautions, and with nothing to be answered but that it is open. */
export function openFirst(
  bench: TraceDecision,
  plan: SetPlan,
  action: SetAction,
  step: Check | Remedy,
): TraceDraft {
  const { context, trace, phone, subject, found } = bench;
  const { open } = phone.family;
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: open it`,
    cautions: cardsForPhone(context, subject, found.state, open.hazards),
    blocks: [
      ...lookBlocks(bench),
      text(
        joined([
          say`Then comes: ${packText(step.name)}.`,
          open.tools.length
            ? say`You need: ${listWords(open.tools.map((one) => packText(one)))}. About ${open.minutes} min.`
            : say`About ${open.minutes} min.`,
          open.breaks ? say`Opening costs: ${packText(open.breaks)}` : '',
          counted(open.steps.length, 'How, in {0} step: behind “More”.', 'How, in {0} steps: behind “More”.'),
        ]),
      ),
      ...likeliest(bench),
      ...onBack(
        steps(
          open.steps.map((one) => packText(one)),
          say`How it opens`,
        ),
      ),
      oddsBlock(bench),
      ...pathBlocks(bench),
    ],
    choices: [
      { ...choice(bench, say`It is open`, 'note', { open: 'open' }), aside: false },
      ...everyStepChoices(bench, step),
    ],
    sources: sourcesOf(context.knowledge, [phone.family.ground]),
    data: dataOf(bench, 'opening', action, plan, open.minutes),
  });
}
