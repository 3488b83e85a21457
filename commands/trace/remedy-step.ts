/** The step that is a remedy: what it takes, how it is done, and what can be seen after it. */

import { accessLevels, type Remedy } from '../../knowledge/schema.ts';
import type { OpenWork } from '../../shared/diagnosis/sets/open-work.ts';
import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import type { SetAction } from '../../shared/diagnosis/sets/set-problem.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, joined, packText, plain, say } from '../../shared/language/say.ts';
import { noStatement, pairingOf } from '../../shared/pairing/pairing.ts';
import { type DraftBlock, type DraftChoice, onBack, reply, steps, text } from '../framework/reply.ts';
import { lastingInWords } from '../shared/lasting.ts';
import { partInWords, partsFor, takeChoice } from '../shared/shelf-part.ts';
import { componentName, partGradeWords, percent, sourcesOf } from '../shared/words.ts';
import { cardsOf, gettingIn, oddsBlock, reachFirst } from './any-step.ts';
import { choice, everyStepChoices } from './trace-choices.ts';
import { dataOf, partInput, stepInput, type TraceDraft } from './trace-data.ts';
import { shown, type TraceDecision } from './trace-decision.ts';
import { lookBlocks } from './trace-look.ts';
import { pathBlocks } from './trace-path.ts';

/** What it takes, and for how much. */
function remedyNeeds(bench: TraceDecision, remedy: Remedy): Message {
  const parts = remedy.parts.map(({ component, grade }) => {
    const { low, price, high, seen, held } = bench.economics.part(component, grade);
    const range = held
      ? say`on the shelf`
      : seen === 1
        ? say`one price seen`
        : seen
          ? say`${shown(bench, low)} to ${shown(bench, high)}, ${seen} prices seen`
          : say`${shown(bench, low)} to ${shown(bench, high)}, estimate`;
    return [
      plain`${componentName(bench.context, component)}, ${partGradeWords[grade]}`,
      plain`${shown(bench, price)} (${range})`,
    ] as const;
  });
  return joined([
    reachFirst(bench, remedy),
    parts.length
      ? say`You need: ${joined(
          parts.map(([part, cost]) => plain`${part}, ${cost}`),
          '; ',
        )}. About ${remedy.minutes} min.`
      : say`About ${remedy.minutes} min.`,
    counted(remedy.steps.length, 'How, in {0} step: behind “More”.', 'How, in {0} steps: behind “More”.'),
  ]);
}

/** How it is done, how long it lasts, what pairing does, and what to tell whoever gets the phone. */
function howTo(bench: TraceDecision, remedy: Remedy): DraftBlock[] {
  const { context, phone } = bench;
  const pairing = remedy.parts.map(({ component }) => {
    const name = componentName(context, component);
    const { statements } = pairingOf(context.knowledge, phone.family, component);
    const said = [...statements.map((one) => one.loses), ...statements.map((one) => one.mends)];
    return said.length
      ? plain`${name}: ${joined(said.map((one) => packText(one)))}`
      : plain`${name}: ${noStatement}`;
  });
  const lasting = remedy.parts.flatMap(({ component }) => lastingInWords(context, component));
  const closing = accessLevels.indexOf(remedy.access) > 0 || bench.found.reached > 0;
  return [
    steps(
      remedy.steps.map((one) => packText(one)),
      say`Do`,
    ),
    ...(lasting.length ? [steps(lasting, say`How long it lasts`, false)] : []),
    ...(pairing.length ? [steps(pairing, say`Pairing`, false)] : []),
    ...toDisclose(remedy),
    ...(closing ? [text(say`Before you seal it: ${packText(phone.family.close.note)}`)] : []),
  ];
}

export function proposeRemedy(
  bench: TraceDecision,
  found: SetPlan,
  action: SetAction,
  remedy: Remedy,
  first: boolean,
): TraceDraft {
  const { context, trace, phone, economics } = bench;
  const works = bench.found.belief.odds.reduce(
    (sum, { fault, share }) => sum + share * (remedy.works[fault.id] ?? 0),
    0,
  );
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: ${packText(remedy.name)}`,
    tone: 'good',
    cautions: cardsOf(bench, remedy),
    blocks: [
      ...lookBlocks(bench),
      ...(first
        ? [
            text(
              say`It is wet: it is cleaned inside before anything that charges or powers it, also where that alone may not mend it.`,
            ),
          ]
        : []),
      text(remedyNeeds(bench, remedy)),
      text(
        say`Most likely: ${packText(bench.found.belief.odds[0]?.fault.name ?? '')} (${percent(bench.found.belief.odds[0]?.share ?? 0)}). Chance that this mends it: ${percent(works)}.`,
      ),
      ...gettingIn(bench, remedy),
      ...onBack(...howTo(bench, remedy)),
      oddsBlock(bench),
      ...pathBlocks(bench),
    ],
    choices: [
      ...shelfChoices(bench, remedy),
      ...doneChoices(bench, remedy),
      ...everyStepChoices(bench, remedy),
    ],
    sources: sourcesOf(context.knowledge, [
      remedy.ground,
      ...remedy.parts.flatMap(({ component }) =>
        pairingOf(context.knowledge, phone.family, component).statements.map((one) => one.ground),
      ),
    ]),
    data: dataOf(bench, 'remedy', action, found, remedy.minutes, [
      stepInput(context, remedy),
      ...remedy.parts.map(({ component, grade }) => partInput(economics, component, grade)),
    ]),
  });
}

/** What of it lies on the shelf, to be fitted in one tap: what lies longest of each component. */
function shelfChoices({ context, trace }: TraceDecision, { parts }: Remedy): DraftChoice[] {
  const job = context.store.jobs.ofTrace(trace.number);
  if (!job || job.ended) return [];
  return parts.flatMap(({ component, grade }) => {
    const part = partsFor(context, job, component).find((one) => one.grade === grade && !one.paired);
    return part
      ? [takeChoice(job, part, say`Fit ${componentName(context, component)}, ${partInWords(part)}`)]
      : [];
  });
}

/** What can be seen after a remedy: all that was open is gone, one of it, or nothing changed. */
function doneChoices(bench: TraceDecision, remedy: Remedy): DraftChoice[] {
  const { open } = bench.found;
  const { knowledge } = bench.context;
  const answer = (label: Message, says: string) => choice(bench, label, 'answer', { says, step: remedy.id });
  const name = ({ kind, ref }: OpenWork): Message =>
    kind === 'damage'
      ? componentName(bench.context, ref)
      : packText(knowledge.symptoms.get(ref)?.name ?? ref);
  return [
    { ...answer(open.length > 1 ? say`Done: all gone` : say`Done: it works`, 'works'), main: true },
    ...(open.length > 1
      ? // What happened to it never goes.
        open
          .filter(({ ref }) => !knowledge.symptoms.get(ref)?.history)
          .map((one) =>
            answer(
              one.kind === 'damage'
                ? say`Done: only ${name(one)} mended`
                : say`Done: only “${name(one)}” gone`,
              `gone:${one.ref}`,
            ),
          )
      : []),
    answer(say`Done: no change`, 'failed'),
  ];
}

export const toDisclose = ({ disclose }: Remedy): DraftBlock[] =>
  disclose.length
    ? [
        steps(
          disclose.map((one) => packText(one)),
          say`Tell the next owner`,
          false,
        ),
      ]
    : [];
