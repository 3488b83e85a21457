/** What somebody says they did at the bench, "fitted panel, battery and seal, 60, 45 min": read back before it is kept. */
import { z } from 'zod';
import type { Family } from '../../knowledge/schema.ts';
import { type PartGrade, partGrades, quantities } from '../../knowledge/schema.ts';
import type { JobRecord } from '../../shared/jobs/job.ts';
import { languageIn } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import { inSentence, joined, listWords, plain, quantity, say, verbatim } from '../../shared/language/say.ts';
import { amount, type Money, moneyWire, toWire } from '../../shared/money/money.ts';
import { parseAmount } from '../../shared/money/parse-amount.ts';
import { lexiconOf } from '../../shared/words/lexicon.ts';
import { readSentence, type SentenceReading } from '../../shared/words/read-sentence.ts';
import type { Context } from '../framework/context.ts';
import { type Draft, type DraftChoice, reply, text } from '../framework/reply.ts';
import { jobChoice } from './find-job.ts';
import { componentName, partGradeWords } from './words.ts';

export const logReadData = z.object({
  kind: z.literal('log'),
  fitted: z.array(z.string()),
  out: moneyWire.nullable(),
  minutes: z.number().int().nullable(),
  notUnderstood: z.array(z.string()),
});

export interface LogRead {
  fitted: string[];
  /** One sum for all of it; several where it can be read in two ways. */
  sums: Money[];
  minutes: number | null;
  /** With their units, as typed. */
  readings: string[];
  /** A grade that was said. */
  grade: PartGrade | null;
  /** Kept as words. */
  rest: string[];
}

function sumsIn({ collective }: Context, reading: SentenceReading): { sums: Money[]; used: string | null } {
  const { currency } = collective.settings;
  const [price] = reading.prices;
  // A bare number stands for money where something was fitted: minutes have their unit.
  const [number] = reading.fitted.length ? reading.numbers : [];
  const said = price ?? number;
  if (!said) return { sums: [], used: null };
  const sign = price?.currency ?? '';
  const sums = said.amounts.flatMap((one) => {
    const read = parseAmount(`${sign} ${one}`.trim(), currency);
    return read.ok ? [read.money] : [];
  });
  return { sums, used: sums.length ? said.text : null };
}

function gradeIn(context: Context, words: string): PartGrade | null {
  const said = new Set(words.toLowerCase().match(/\p{L}+/gu) ?? []);
  return (
    partGrades.find((one) => said.has(one) || said.has(context.write(partGradeWords[one]).toLowerCase())) ??
    null
  );
}

/** Reads a line of a job's log; a component that the family has not stays words. */
export function readLog(context: Context, family: Family, words: string): LogRead {
  const reading = readSentence(lexiconOf(context.knowledge), words, { language: languageIn(context.locale) });
  const fitted = [...new Set(reading.fitted.map(({ id }) => id))].filter((id) => id in family.components);
  const { sums, used } = sumsIn(context, reading);
  const times = reading.measured.filter(({ unit }) => unit === 'min' || unit === 'h');
  const minutes = times.reduce(
    (sum, { unit, values }) => sum + (values[0] ?? 0) * (unit === 'h' ? 60 : 1),
    0,
  );
  const units: readonly string[] = quantities;
  return {
    fitted,
    sums,
    minutes: minutes >= 1 && minutes <= 1440 ? Math.round(minutes) : null,
    readings: reading.measured.filter(({ unit }) => units.includes(unit)).map((one) => one.text),
    grade: gradeIn(context, words),
    rest: [...reading.notUnderstood, ...reading.numbers]
      .map((one) => one.text)
      .filter((one) => one !== used && gradeIn(context, one) === null),
  };
}

/** "I read: fitted: display, battery and gasket; AUD 60.00 spent; 45 min. Right?" `given`: the options besides the words. */
export function logBack(
  context: Context,
  job: JobRecord,
  given: Readonly<Record<string, string>>,
  words: string,
  read: LogRead,
): Draft<z.infer<typeof logReadData>> {
  const { fitted, sums, minutes, grade, rest } = read;
  const own = { ...given };
  delete own.text;
  delete own.job;
  const [sum, other] = given.out === undefined ? sums : [];
  const list: Message[] = [
    ...(fitted.length
      ? [say`fitted: ${listWords(fitted.map((id) => inSentence(componentName(context, id))))}`]
      : []),
    ...(sum && !other
      ? [fitted.length > 1 ? say`${amount(sum)} spent for all of it` : say`${amount(sum)} spent`]
      : []),
    ...(minutes !== null ? [quantity(minutes, 'min')] : []),
    ...read.readings.map((one) => verbatim(one)),
  ];
  const options: Record<string, string> = {
    ...own,
    ...(fitted.length ? { fitted: fitted.join(', ') } : {}),
    ...(sum ? { out: toWire(sum).amount } : {}),
    ...(minutes !== null ? { minutes: String(minutes) } : {}),
    ...(read.readings[0] ? { reading: read.readings[0] } : {}),
    ...(rest.length ? { text: rest.join(', ') } : {}),
    as: 'words',
  };
  const yes = (label: Message, more: Record<string, string> = {}): DraftChoice =>
    jobChoice(job, label, 'log', { ...options, ...more });
  const graded = fitted.length > 0 && given.grade === undefined;
  const choices =
    sum && other
      ? sums.map((one) =>
          jobChoice(job, say`The sum is ${amount(one)}`, 'log', {
            ...own,
            text: words,
            out: toWire(one).amount,
          }),
        )
      : graded && grade === null
        ? partGrades.map((one) => yes(say`Yes, ${partGradeWords[one]}`, { grade: one }))
        : [{ ...yes(say`Yes`, graded && grade ? { grade } : {}), main: true }];
  return reply({
    title:
      sum && other
        ? say`Which sum is meant: ${listWords(sums.map((one) => amount(one)))}?`
        : say`I read: ${joined(list, '; ')}. Right?`,
    blocks: [
      ...(graded && grade === null ? [text(say`The next owner is told what kind of part it is.`)] : []),
      ...(rest.length
        ? [
            text(
              say`Kept as words: ${joined(
                rest.map((one) => plain`“${verbatim(one)}”`),
                ', ',
              )}`,
            ),
          ]
        : []),
    ],
    choices: [...choices, jobChoice(job, say`Keep it as words`, 'log', { ...own, text: words, as: 'words' })],
    data: {
      kind: 'log',
      fitted,
      out: sum && !other ? toWire(sum) : null,
      minutes,
      notUnderstood: rest,
    },
  });
}
