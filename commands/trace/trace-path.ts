/** The path of a trace: where it stands, what was answered and said so far, and by whom. */

import type { Message } from '../../shared/language/message.ts';
import { listWords, packText, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import type { TraceRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, facts, onBack, steps, text } from '../framework/reply.ts';
import { wipedBlocks } from '../shared/wipe-words.ts';
import { componentName } from '../shared/words.ts';
import { type TraceDecision, traceDecisionOf } from './trace-decision.ts';
import { standingOf } from './trace-standing.ts';

/** "1 does not charge: mended by New cell; 2 display assembly: known, to do; 3 no sound: to find", and what is known besides. */
function standingBlocks(bench: TraceDecision): DraftBlock[] {
  const { context, question, found } = bench;
  const { knowledge } = context;
  const all = standingOf(bench);
  const lines = all.map(({ name, stands, by }) => {
    if (stands === 'known') return say`${name}: known, to do`;
    if (stands === 'to-find') return say`${name}: to find`;
    const remedy = knowledge.remedies.get(by ?? '');
    return remedy
      ? say`${name}: mended by ${packText(remedy.name)}`
      : say`${name}: gone (${packText(knowledge.checks.get(by ?? '')?.name ?? by ?? '')})`;
  });
  const symptoms = (ids: readonly string[]) =>
    listWords(ids.map((id) => packText(knowledge.symptoms.get(id)?.name ?? id)));
  const good = [...new Set(question.events.flatMap((event) => (event.kind === 'good' ? [event.id] : [])))];
  const idle = new Set(found.belief.idle.flatMap((event) => (event.kind === 'denied' ? [event.id] : [])));
  const history = [
    ...new Set(
      question.events.flatMap((event) =>
        event.kind === 'shown' && knowledge.symptoms.get(event.id)?.history ? [event.id] : [],
      ),
    ),
  ];
  const rows: [Message, Message][] = [
    ...(history.length && all.length
      ? [[say`What happened to it`, symptoms(history)] as [Message, Message]]
      : []),
    ...(found.belief.denied.length
      ? [[say`It does not show`, symptoms(found.belief.denied)] as [Message, Message]]
      : []),
    ...(idle.size ? [[say`Can not be told yet`, symptoms([...idle])] as [Message, Message]] : []),
    ...(good.length
      ? [
          [say`Known to be good`, listWords(good.map((id) => componentName(context, id)))] as [
            Message,
            Message,
          ],
        ]
      : []),
    ...(found.reached > 0
      ? [
          [
            say`It lies open`,
            found.reached > 1 ? say`with the board out` : say`its inside can be reached`,
          ] as [Message, Message],
        ]
      : []),
  ];
  const tells = all.length > 1 || all.some(({ stands }) => stands !== 'to-find');
  return [
    ...onBack(...(tells ? [steps(lines, say`Where it stands`)] : []), ...(rows.length ? [facts(rows)] : [])),
    ...(startedNow(bench)
      ? [
          text(
            say`It starts now: what a dead phone could not show can be seen. Say what else it does wrong: ${typed('/trace note shown:')}`,
          ),
        ]
      : []),
  ];
}

/** True right after the step that brought a dead phone to life. */
function startedNow({ trace, found, context }: TraceDecision): boolean {
  const by = found.belief.goneBy.get('dead');
  const last = trace.steps.findLast(({ undone, kind }) => !undone && (kind === 'check' || kind === 'remedy'));
  return by !== undefined && last?.ref === by && context.knowledge.symptoms.has('dead');
}

/** What was answered and said by whom, what is settled and what is left. */
export function pathBlocks(bench: TraceDecision): DraftBlock[] {
  const { context, trace } = bench;
  const done = trace.steps
    .flatMap((step) => {
      const words = step.undone ? null : stepInWords(context, step);
      return words ? [plain`${words} (${verbatim(step.by.name)})`] : [];
    })
    .slice(-PATH_SHOWN);
  return [
    ...standingBlocks(bench),
    ...onBack(
      ...(done.length ? [steps(done, say`So far`, false)] : []),
      ...wipedBlocks(context, `trace:${trace.number}`),
    ),
  ];
}

/** The same on the card of its job, where nothing stands behind. */
export const pathOnCard = (context: Context, trace: TraceRecord): DraftBlock[] =>
  pathBlocks(traceDecisionOf(context, trace)).map((block) => ({ ...block, back: false }));

/** "Current at the charger: nothing, 0.00 A"; null for what is no part of the path. */
function stepInWords(
  context: Context,
  { kind, ref, outcome, reading }: TraceRecord['steps'][number],
): Message | null {
  const { knowledge } = context;
  const symptoms = () =>
    listWords(ref.split(',').map((id) => packText(knowledge.symptoms.get(id)?.name ?? id)));
  switch (kind) {
    case 'check': {
      const check = knowledge.checks.get(ref);
      const says = check?.outcomes.find(({ id }) => id === outcome)?.says;
      return plain`${packText(check?.name ?? ref)}: ${packText(says ?? outcome ?? '')}`;
    }
    case 'remedy': {
      const name = packText(knowledge.remedies.get(ref)?.name ?? ref);
      const known = outcome === 'works' || outcome === 'partly' ? outcome : 'failed';
      const gone = known === 'partly' && reading ? reading.split(',') : [];
      const words = gone.map((id) =>
        packText(knowledge.symptoms.get(id)?.name ?? knowledge.components.get(id)?.name ?? id),
      );
      return words.length ? say`${name}: gone is ${listWords(words)}` : plain`${name}: ${remedyWords[known]}`;
    }
    case 'cannot':
      return say`${packText(knowledge.checks.get(ref)?.name ?? knowledge.remedies.get(ref)?.name ?? ref)}: cannot be done`;
    case 'shown':
      return say`it shows: ${symptoms()}`;
    case 'denied':
      // The one answer to what else is to be seen.
      if (ref.includes(',') && ref.split(',').every((id) => knowledge.symptoms.get(id)?.plainToSee))
        return say`nothing else to see`;
      return say`it does not show: ${symptoms()}`;
    case 'good':
      return say`known to be good: ${listWords(ref.split(',').map((id) => componentName(context, id)))}`;
    case 'reached':
      return reachedWords[ref] ?? null;
    default:
      return null;
  }
}
const reachedWords: Readonly<Record<string, Message>> = {
  closed: say`it is closed`,
  open: say`it lies open`,
  board: say`it lies open, its board is out`,
};
const PATH_SHOWN = 8;
const remedyWords = {
  works: say`all gone`,
  partly: say`part of it gone`,
  failed: say`no change`,
} as const;
