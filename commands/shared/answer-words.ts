/** What somebody says of the check that their open trace asks, in their own words: "charges fine, 0.9 A". */
import { z } from 'zod';
import { fits } from '../../knowledge/features.ts';
import type { Check } from '../../knowledge/schema.ts';
import { readAnswer } from '../../shared/diagnosis/reading.ts';
import { nextStep } from '../../shared/diagnosis/sets/next-step.ts';
import { languageIn } from '../../shared/language/locale.ts';
import { packText, say, verbatim } from '../../shared/language/say.ts';
import type { TraceRecord } from '../../shared/store/index.ts';
import { lexiconOf } from '../../shared/words/lexicon.ts';
import { readSentence, type SentenceReading } from '../../shared/words/read-sentence.ts';
import type { Context } from '../framework/context.ts';
import { type Draft, type DraftChoice, reply } from '../framework/reply.ts';
import { economicsFor, setCaseFor, setQuestionFor } from './appraise-phone.ts';
import { benchEventsOf, damageOf } from './find-trace.ts';
import { phoneOfTrace } from './phone.ts';
import { stateOfTrace } from './phone-state.ts';

export const answerData = z.object({
  kind: z.literal('answer'),
  trace: z.number().int(),
  check: z.string(),
  outcome: z.string(),
  reading: z.string().nullable(),
});

export interface AnswerRead {
  outcome: Check['outcomes'][number];
  /** The number with its unit, as it was typed. */
  reading: string | null;
}

const denials = new Set([
  'not',
  'no',
  'nothing',
  'doesnt',
  'dont',
  'cannot',
  'cant',
  'nicht',
  'kein',
  'keine',
  'nichts',
]);

/** The outcome whose own words a text shares most, where one does clearly and neither denies what the other says. */
function byWords(context: Context, check: Check, text: string): Check['outcomes'][number] | null {
  const stems = (words: string): Set<string> => {
    const language = lexiconOf(context.knowledge).languages.get(languageIn(context.locale));
    const tokens =
      words
        .normalize('NFKD')
        .replace(/[\p{M}'’]/gu, '')
        .toLowerCase()
        .match(/\p{L}{2,}/gu) ?? [];
    return new Set(
      tokens.flatMap((word) =>
        denials.has(word) ? ['!'] : (language?.unitsOf(word) ?? []).map(({ stem }) => stem),
      ),
    );
  };
  const said = stems(text);
  const scored = check.outcomes
    .map((outcome) => {
      const words = stems(context.write(packText(outcome.says)));
      const shared = [...words].filter((word) => word !== '!' && said.has(word)).length;
      return { outcome, score: said.has('!') === words.has('!') ? shared : 0 };
    })
    .sort((a, b) => b.score - a.score);
  const [first, second] = scored;
  return first && first.score > 0 && first.score > (second?.score ?? 0) ? first.outcome : null;
}

/** What a text answers to a check; null where it says nothing of it. */
export function readAnswerWords(context: Context, check: Check, text: string): AnswerRead | null {
  const reading = readSentence(lexiconOf(context.knowledge), text, { language: languageIn(context.locale) });
  return fromReading(context, check, text, reading);
}

function fromReading(
  context: Context,
  check: Check,
  text: string,
  reading: SentenceReading,
): AnswerRead | null {
  const exact = readAnswer(check, text);
  if (exact.ok) return { outcome: exact.outcome, reading: exact.reading };
  const measured = reading.measured.find(({ unit }) => unit === check.unit);
  const [value] = measured?.values ?? [];
  const banded = value === undefined ? null : readAnswer(check, String(value));
  if (banded?.ok) return { outcome: banded.outcome, reading: measured?.text ?? null };
  const said = reading.answers.find(({ id }) => id.startsWith(`${check.id}/`))?.id.split('/')[1];
  const outcome = check.outcomes.find(({ id }) => id === said) ?? byWords(context, check, text);
  return outcome ? { outcome, reading: null } : null;
}

/** The check that a trace asks now; null where it asks none. */
function askedCheck(context: Context, trace: TraceRecord): Check | null {
  const phone = phoneOfTrace(context, trace);
  const question = setQuestionFor(
    context,
    phone.family,
    benchEventsOf(context, trace),
    economicsFor(context, phone),
    stateOfTrace(context, trace),
    damageOf(context, trace),
  );
  const next = nextStep(question, setCaseFor(question), true);
  return next.kind === 'check' ? next.check : null;
}

/** A check that a sentence names by what was done or read, whatever the trace asks now. */
function namedCheck(context: Context, trace: TraceRecord, reading: SentenceReading): Check | null {
  const { checks, wordRules } = context.knowledge;
  const { family } = phoneOfTrace(context, trace);
  const ids = [
    ...reading.answers.map(({ id }) => id.split('/')[0] ?? ''),
    ...reading.measured.flatMap(({ unit }) => wordRules.readings[unit] ?? []),
  ];
  const known = ids.flatMap((id) => checks.get(id) ?? []);
  return known.find((check) => fits(family, check) && !isAnswered(trace, check)) ?? null;
}
const isAnswered = (trace: TraceRecord, { id }: Check): boolean =>
  trace.steps.some((step) => !step.undone && step.ref === id);

/**
 * Where the asker has a trace open and the text answers its check, or another one of it: what was read, to be said yes to.
 * Null where it speaks of a phone anew.
 */
export function answerBack(context: Context, text: string): Draft<z.infer<typeof answerData>> | null {
  const trace = context.store.traces.listOpen().find(({ startedBy }) => startedBy.key === context.person.key);
  if (!trace || context.person.role === 'visitor') return null;
  const reading = readSentence(lexiconOf(context.knowledge), text, { language: languageIn(context.locale) });
  if (reading.model || reading.came.length || reading.prices.length || reading.damage.length) return null;
  const asked = askedCheck(context, trace);
  const own = asked && fromReading(context, asked, text, reading);
  if (asked && own) return answerReply(trace, asked, own, text);
  if (reading.complaints.length) return null;
  const named = namedCheck(context, trace, reading);
  const other = named && fromReading(context, named, text, reading);
  return named && other ? answerReply(trace, named, other, text) : null;
}

/** "I read: it boots. Right?", for a check of a trace. */
export function answerReply(
  trace: TraceRecord,
  check: Check,
  { outcome, reading }: AnswerRead,
  text: string | null = null,
): Draft<z.infer<typeof answerData>> {
  const choice = (label: DraftChoice['label'], says: string): DraftChoice => ({
    label,
    invoke: {
      command: 'trace',
      action: 'answer',
      options: { says, trace: String(trace.number), step: check.id },
    },
    subject: `trace:${trace.number}`,
    revision: trace.revision,
  });
  const says = packText(outcome.says);
  return reply({
    title:
      reading === null
        ? say`I read: ${packText(check.name)}: ${says}. Right?`
        : say`I read: ${packText(check.name)}: ${says} (${verbatim(reading)}). Right?`,
    choices: [
      { ...choice(say`Yes`, reading ?? outcome.id), main: true },
      ...check.outcomes
        .filter(({ id }) => id !== outcome.id)
        .map((other) => choice(say`No: ${packText(other.says)}`, other.id)),
      ...(text === null
        ? []
        : [
            {
              label: say`No: it is about another phone`,
              invoke: { command: 'read', action: '', options: { text, 'so-far': '{}' } },
            },
          ]),
    ],
    data: { kind: 'answer', trace: trace.number, check: check.id, outcome: outcome.id, reading },
  });
}
