/** `/job log`: what was spent, read, fitted and seen. */

import { z } from 'zod';
import { type Family, type PartGrade, partGrades } from '../../knowledge/schema.ts';
import { type Entry, moneyPurposes } from '../../shared/jobs/entry.ts';
import { type JobRecord, totalsOf } from '../../shared/jobs/job.ts';
import { whyDanger, whyNoWork } from '../../shared/jobs/rules.ts';
import {
  inRow,
  inSentence,
  joined,
  listWords,
  packText,
  plain,
  quantity,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { amount, type Money } from '../../shared/money/money.ts';
import type { TraceRecord } from '../../shared/store/index.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { dangerSaid } from '../framework/danger-words.ts';
import {
  choiceOption,
  integerOption,
  lookupOption,
  manyOption,
  moneyOption,
  optional,
  textOption,
} from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { type Draft, type DraftBlock, facts, steps, text } from '../framework/reply.ts';
import { cardsOfState, withoutDoubles } from '../shared/caution-cards.ts';
import { jobOption, openJobMeant } from '../shared/find-job.ts';
import { mendedIn } from '../shared/find-trace.ts';
import { untestedOf } from '../shared/job-words.ts';
import { type LogRead, logBack, logReadData, readLog } from '../shared/log-words.ts';
import { components } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { pairingNotes } from '../shared/pairing-notes.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { addPhoneEvents, stateOfJob, subjectOfJob } from '../shared/phone-state.ts';
import { componentName } from '../shared/words.ts';
import { entryInWords } from './entry-words.ts';
import { jobData } from './job-data.ts';
import { handOf, readingOption, refuseFor } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';

/** The consequence of a fitted component, said at once. */
function fittedBlocks(context: Context, job: JobRecord, component: string): DraftBlock[] {
  const { family } = phoneOfJob(context, job);
  const lines = pairingNotes(context, family, component);
  const waiting = component === 'gasket' ? untestedOf(context, job).filter(({ closing }) => !closing) : [];
  return [
    steps(lines, say`${componentName(context, component)}: what the swap does`, false),
    ...(waiting.length
      ? [
          text(
            say`Not tested yet: ${listWords(waiting.map(({ name }) => inSentence(packText(name))))}. Test before the gasket is pressed: it is used once.`,
          ),
        ]
      : []),
  ];
}

/** What a text says was fitted, spent or worked; null where it is words alone, or tells of danger. */
function wordsOfLog(context: Context, job: JobRecord, words: string): LogRead | null {
  if (dangerSaid(context, words).found.length) return null;
  const read = readLog(context, phoneOfJob(context, job).family, words);
  return read.fitted.length || read.sums.length || read.minutes !== null ? read : null;
}

function traceBlocks(context: Context, trace: TraceRecord): DraftBlock[] {
  const remedy = mendedIn(trace, context);
  return [
    text(
      remedy
        ? say`Trace ${trace.number}: mended by ${packText(remedy.name)}.`
        : trace.state === 'open'
          ? say`Trace ${trace.number} is still open.`
          : say`Trace ${trace.number} is ended without a remedy.`,
    ),
  ];
}

/** What may be written besides what was fitted. */
interface Logged {
  text?: string | undefined;
  out?: Money | undefined;
  in?: Money | undefined;
  for?: (typeof moneyPurposes)[number] | undefined;
  grade?: PartGrade | undefined;
  minutes?: number | undefined;
  reading?: Omit<Extract<Entry, { kind: 'reading' }>, 'kind'> | undefined;
  oddity?: string | undefined;
}
type Part = { readonly id: string; readonly name: string };

function checkComponents(family: Family, component: Part | undefined, fitted: readonly Part[]): void {
  for (const [option, named] of [
    ['component', component] as const,
    ...fitted.map((one) => ['fitted', one] as const),
  ]) {
    if (named && !(named.id in family.components)) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`A ${packText(family.name)} has no ${verbatim(named.name)}.`,
        expected: say`a component of its family`,
        option,
      });
    }
  }
}

/** A purpose needs money, and a grade a part. */
function checkComplete(given: Logged, hasPart: boolean): void {
  if (given.for && !given.out && !given.in) {
    throw new Refusal({
      code: 'missing-option',
      problem: say`No money is given.`,
      expected: say`out: or in: with the amount`,
      option: 'for',
    });
  }
  if (given.grade && !hasPart) {
    throw new Refusal({
      code: 'missing-option',
      problem: say`The grade of what?`,
      expected: say`component: or fitted:`,
      option: 'grade',
    });
  }
}

function traceOfPhone({ store }: Context, job: JobRecord, number: number | undefined): TraceRecord | null {
  if (number === undefined) return null;
  const trace = store.traces.get(number);
  if (!trace) {
    throw new Refusal({
      code: 'not-found',
      problem: say`There is no trace ${number} here.`,
      expected: say`a number from /trace list`,
      option: 'trace',
    });
  }
  if (trace.family !== job.family) {
    throw new Refusal({
      code: 'bad-option',
      problem: say`Trace ${trace.number} is of another kind of phone.`,
      expected: say`a trace of this phone`,
      option: 'trace',
    });
  }
  return trace;
}

/** What is written down, in its order. `part`: what the money is of. */
function entriesOf(
  given: Logged,
  fitted: readonly Part[],
  part: Part | undefined,
  trace: TraceRecord | null,
): Entry[] {
  const money = (way: 'out' | 'in', sum: Money | undefined): Entry[] =>
    sum && sum.minor > 0
      ? [
          {
            kind: 'money',
            way,
            amount: sum,
            purpose: given.for ?? (part || fitted.length ? 'part' : 'other'),
            component: part?.id ?? null,
            grade: part ? (given.grade ?? null) : null,
          },
        ]
      : [];
  return [
    ...fitted.map(({ id }) => ({
      kind: 'fitted' as const,
      component: id,
      grade: given.grade ?? ('used' as const),
    })),
    ...money('out', given.out),
    ...money('in', given.in),
    ...(given.minutes ? [{ kind: 'minutes' as const, minutes: given.minutes }] : []),
    ...(given.reading ? [{ kind: 'reading' as const, ...given.reading }] : []),
    ...(trace ? [{ kind: 'trace' as const, trace: trace.number }] : []),
    ...(given.oddity ? [{ kind: 'oddity' as const, text: given.oddity }] : []),
    ...(given.text ? [{ kind: 'said' as const, text: given.text }] : []),
  ];
}

function keepDangerSaid(context: Context, job: JobRecord, texts: readonly (string | undefined)[]): void {
  const said = dangerSaid(context, texts.filter(Boolean).join('. ')).found;
  addPhoneEvents(
    context,
    subjectOfJob(job),
    said.map(({ fact, text: words }) => ({ kind: 'fact', fact, ground: 'words', ref: words })),
  );
}

/** The job as it is after the newest `count` entries, and what follows from what was fitted. */
function loggedReply(
  context: Context,
  after: JobRecord,
  count: number,
  fitted: readonly Part[],
  trace: TraceRecord | null,
): Draft<z.infer<typeof jobData>> {
  const { out, back, minutes } = totalsOf(after);
  return jobReply(context, after, {
    title: plain`${jobHeading(context, after)}: ${joined(
      after.entries.slice(-count).map((one) => entryInWords(context, one)),
      '; ',
    )}`,
    blocks: [
      ...fitted.flatMap(({ id }) => fittedBlocks(context, after, id)),
      ...(trace ? traceBlocks(context, trace) : []),
      facts([
        [say`Out so far`, amount(out)],
        ...(back.minor ? [[say`Came back`, amount(back)] as const] : []),
        [say`At the bench`, quantity(minutes, 'min')],
      ]),
    ],
  });
}

export const jobLog = defineAction({
  summary: say`Write something in the log: money, minutes, a reading, a fitted component, an oddity, a trace, or words for the room`,
  who: 'member',
  options: {
    text: optional(textOption({ summary: say`Words for the room`, example: 'port cleaned', max: 500 })),
    job: jobOption,
    out: optional(moneyOption({ summary: say`Money spent`, example: '14' })),
    in: optional(moneyOption({ summary: say`Money that came back`, example: '8' })),
    for: optional(
      choiceOption({ summary: say`What the money was for`, example: 'part', choices: moneyPurposes }),
    ),
    component: optional(
      lookupOption({
        summary: say`The part that was bought or sold`,
        example: 'battery',
        lookup: components,
      }),
    ),
    grade: optional(
      choiceOption({ summary: say`The grade of the part`, example: 'copy', choices: partGrades }),
    ),
    minutes: optional(
      integerOption({ summary: say`Minutes at the bench`, example: '25', min: 1, max: 1440 }),
    ),
    reading: optional(readingOption),
    fitted: optional(
      manyOption(
        lookupOption({ summary: say`Components that were fitted`, example: 'battery', lookup: components }),
      ),
    ),
    oddity: optional(
      textOption({
        summary: say`Something odd about this phone that the next owner is told`,
        example: 'speaker rattles at full volume',
        max: 200,
      }),
    ),
    trace: optional(integerOption({ summary: say`A trace of this phone`, example: '3', min: 1, max: 1e9 })),
    as: optional(
      choiceOption({
        summary: say`The text is kept as it is, and not read`,
        example: 'words',
        choices: ['words'],
      }),
    ),
  },
  needs: [needs.openJob],
  examples: [
    '/job log fitted:battery grade:copy out:14 minutes:25',
    '/job log "fitted panel, battery and seal, 60, 45 min"',
    '/job log "port cleaned" minutes:10',
    '/job log reading:"3.82 V cell"',
  ],

  data: z.union([jobData, logReadData]),
  refuses: ['missing-option', 'wrong-state', 'unsafe'],
  run: ({ fitted: fittedNow = [], ...given }, context, texts) => {
    const job = openJobMeant(context, given.job);
    const { family } = phoneOfJob(context, job);
    const fitted = withoutDoubles(fittedNow);
    const read = given.text && !given.as && !fitted.length ? wordsOfLog(context, job, given.text) : null;
    // One sum for several components is of none of them.
    const part = given.component ?? (fitted.length === 1 ? fitted[0] : undefined);
    checkComponents(family, given.component, fitted);
    const phone = stateOfJob(context, job);
    const blocked = whyDanger(job, phone) ?? whyNoWork(job);
    if (blocked && (given.out || fitted.length || read?.fitted.length || read?.sums.length)) {
      refuseFor(
        [blocked],
        phone.danger === 'none'
          ? `/job answer job:${job.number} ownership:shown lock:free stolen:clear`
          : `/danger show job:${job.number}`,
        cardsOfState(context, phone),
      );
    }
    if (read && given.text) return logBack(context, job, texts, given.text, read);
    checkComplete(given, part !== undefined || fitted.length > 0);
    const trace = traceOfPhone(context, job, given.trace);
    const entries = entriesOf(given, fitted, part, trace);
    if (!entries.length) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`There is nothing to write down.`,
        expected: say`words, or one of out:, in:, minutes:, reading:, fitted:, oddity:, trace:`,
      });
    }
    if (fitted.length && !given.grade) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Which grade is the ${listWords(fitted.map(({ name }) => verbatim(name)))}? The next owner is told.`,
        expected: say`grade: and one of ${inRow(partGrades.map((one) => typed(one)))}`,
        option: 'grade',
      });
    }
    if (trace) context.store.jobs.setTrace(job.number, trace.number);
    context.store.jobs.add(job.number, entries, handOf(context));
    keepDangerSaid(context, job, [given.text, given.oddity]);
    const after = context.store.jobs.get(job.number) ?? job;
    return loggedReply(context, after, entries.length, fitted, trace);
  },
});
