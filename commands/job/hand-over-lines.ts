/** The sections of the hand-over page: what was done, parts, water, oddities, battery. Nothing private. */
import { accessLevels, type Remedy } from '../../knowledge/schema.ts';
import { batteryNow, fittedNow, odditiesOf, wasOpened } from '../../shared/jobs/hand-over.ts';
import { answersOf, isTold, type JobRecord, testsOf, tracesOfJob } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  counted,
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
import { effectWords } from '../../shared/pairing/pairing.ts';
import { countReports } from '../../shared/pairing/reports.ts';
import type { SafetyStep } from '../../shared/phone/event.ts';
import { cellFactsOf, type PhoneState, wetFactsOf } from '../../shared/phone/state.ts';
import type { Context } from '../framework/context.ts';
import { factWords } from '../shared/danger-reply.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { componentName, dayIn, partGradeWords } from '../shared/words.ts';
import { functionName } from './entry-words.ts';

/** An effect of a swap is told from this chance on. Chosen. */
const TOLD_FROM = 0.4;

const eraseWords: Readonly<Record<string, Message>> = {
  clear: say`The former owner’s data was cleared (NIST SP 800-88): it stands up to simple recovery.`,
  purge: say`The former owner’s data was purged (NIST SP 800-88).`,
  'owner-keeps': say`Your own data was left on it.`,
};

/** What it was, whatever mended it: the next owner is told of a suspect cell, and of liquid. */
function pastDanger(context: Context, state: PhoneState): Message[] {
  const day = (at: Date) => verbatim(dayIn(context, at));
  const done = (step: SafetyStep) => state.madeSafe.findLast((one) => one.step === step);
  const cell = cellFactsOf(state);
  const [first] = cell;
  const [wet] = wetFactsOf(state);
  const replaced = done('new-cell');
  const cleaned = done('cleaned');
  return [
    ...(first
      ? [
          joined([
            say`On ${day(first.at)} its cell was found ${listWords(cell.map(({ fact }) => factWords[fact]))}.`,
            !replaced
              ? say`No other cell was fitted here.`
              : replaced.who
                ? say`On ${day(replaced.at)} someone qualified fitted another (${verbatim(replaced.who)}).`
                : say`On ${day(replaced.at)} someone qualified fitted another.`,
          ]),
        ]
      : []),
    ...(wet
      ? [
          joined([
            say`It got wet, or showed signs of it (${day(wet.at)}).`,
            cleaned ? say`It was opened, cleaned inside and dried on ${day(cleaned.at)}.` : '',
            state.wet === 'no' ? say`The liquid mark inside had not turned and the seal was whole.` : '',
          ]),
        ]
      : []),
  ];
}
/** The family's word on water, where it was opened: what a seal promised when new no longer holds. */
export function waterLines(job: JobRecord, opened: boolean): Message[] {
  if (!opened) return [];
  return [
    say`Water resistance is not assured: the phone was opened. Keep it away from water, whatever its maker said when it was new.`,
    ...(job.ended?.ending.sealed === false
      ? [say`It is left unsealed: dust and damp get in more easily than before.`]
      : []),
  ];
}

/** The jobs in which the same phone was here before, the newest first. */
function earlierJobs({ store }: Context, job: JobRecord): JobRecord[] {
  const found: JobRecord[] = [];
  const before = ({ entries }: JobRecord): JobRecord | null => {
    const from = entries.flatMap(({ struck, entry }) =>
      struck === null && entry.kind === 'came-from' ? [entry.job] : [],
    )[0];
    return from === undefined ? null : store.jobs.get(from);
  };
  // A phone comes back in a newer job.
  for (let one = before(job), last = job.number; one && one.number < last; one = before(one)) {
    last = one.number;
    found.push(one);
  }
  return found;
}

/** What was fitted when it was here before and is in it still, with the job. */
function fittedBefore(context: Context, job: JobRecord) {
  const taken = new Set(fittedNow(job).map(({ entry }) => entry.component));
  return earlierJobs(context, job).flatMap((before) =>
    fittedNow(before).flatMap(({ entry }) => {
      if (taken.has(entry.component)) return [];
      taken.add(entry.component);
      return [{ before, entry }];
    }),
  );
}

/** Whether it was opened, now or when it was here before. */
export const wasEverOpened = (context: Context, job: JobRecord): boolean =>
  [job, ...earlierJobs(context, job)].some((one) =>
    wasOpened(one, phoneOfJob(context, one).family, stateOfJob(context, one), accessReached(context, one)),
  );

/** How far the steps of a job's traces took the phone apart. */
function accessReached({ knowledge, store }: Context, job: JobRecord): (typeof accessLevels)[number] {
  const done = tracesOfJob(job)
    .flatMap((number) => store.traces.get(number)?.steps ?? [])
    .filter(({ undone, outcome }) => !undone && outcome !== null)
    .map(({ kind, ref }) => (kind === 'remedy' ? knowledge.remedies : knowledge.checks).get(ref)?.access)
    .map((access) => (access ? accessLevels.indexOf(access) : 0));
  return accessLevels[Math.max(0, ...done)] ?? 'closed';
}

/** The remedies that mended something, in the traces of a job, in their order. */
export function remediesOf({ knowledge, store }: Context, job: JobRecord): Remedy[] {
  const worked = tracesOfJob(job)
    .flatMap((number) => store.traces.get(number)?.steps ?? [])
    .filter(
      ({ undone, kind, outcome }) =>
        !undone && kind === 'remedy' && (outcome === 'works' || outcome === 'partly'),
    )
    .map(({ ref }) => ref);
  const ended = job.ended?.ending.remedy;
  return [...new Set([...worked, ...(ended ? [ended] : [])])].flatMap(
    (id) => knowledge.remedies.get(id) ?? [],
  );
}

/**
 * What is odd about a component that was fitted: what was seen on this phone, else what was reported of others like it here,
 * else what the pack holds likely. A report of this phone that all is well leaves nothing to say.
 */
function swapOddities(
  context: Context,
  job: JobRecord,
  component: string,
): { seen: Message[]; reported: Message[]; expected: Message[] } {
  const { knowledge, store } = context;
  const { family } = phoneOfJob(context, job);
  const name = componentName(context, component);
  const none = { seen: [], reported: [], expected: [] };
  const reports = store.swaps
    .list({ component, family: job.family, limit: 500 })
    .filter(({ aside }) => !aside);
  const own = reports.filter((one) => one.job === job.number);
  if (own.length) {
    const odd = own.filter(({ effect }) => effect !== 'free');
    return {
      ...none,
      seen: odd.map(({ effect, saw }) =>
        saw
          ? say`Seen on this phone: the ${name} that was fitted ${effectWords[effect]}: ${verbatim(saw)}.`
          : say`Seen on this phone: the ${name} that was fitted ${effectWords[effect]}.`,
      ),
    };
  }
  const possible = countReports(knowledge, family, component, store.swaps.countsOf(component)).filter(
    ({ effect, chance }) => effect !== 'free' && chance >= TOLD_FROM,
  );
  const told = possible.filter(({ seen }) => seen > 0);
  return {
    ...none,
    reported: told.map(({ effect, seen, tried }) =>
      counted(
        tried,
        'Reported of phones like it here, {2} of {0} time: another {1} {3}.',
        'Reported of phones like it here, {2} of {0} times: another {1} {3}.',
        name,
        seen,
        effectWords[effect],
      ),
    ),
    expected: possible
      .filter(({ seen, statement }) => seen === 0 && statement !== null)
      .map(
        ({ effect, statement }) =>
          say`Not seen here, but to be expected of phones built like this: another ${name} ${effectWords[effect]}: ${packText(statement?.loses ?? '')}`,
      ),
  };
}

/** Oddities, in the order of how well they are known: seen, then reported, then expected. */
export function oddityLines(context: Context, job: JobRecord): Message[] {
  const waived = [...testsOf(job)].filter(([, { result }]) => result === 'waived');
  const earlier = earlierJobs(context, job);
  const swaps = [
    ...fittedNow(job).map(({ entry }) => swapOddities(context, job, entry.component)),
    ...fittedBefore(context, job).map(({ before, entry }) => swapOddities(context, before, entry.component)),
  ];
  return [
    ...odditiesOf(job).map((words) => plain`${verbatim(/[.!?]$/.test(words) ? words : `${words}.`)}`),
    ...earlier.flatMap((before) =>
      odditiesOf(before).map(
        (words) =>
          say`Noticed when it was here before (${typed(dayIn(context, before.at))}): ${verbatim(words)}`,
      ),
    ),
    ...waived.map(([id, { reason }]) => plain`${functionName(context, id)}: ${verbatim(reason)}.`),
    ...swaps.flatMap(({ seen }) => seen),
    ...swaps.flatMap(({ reported }) => reported),
    ...swaps.flatMap(({ expected }) => expected),
    // That it was opened, and what that means for water, has a section of its own.
    ...remediesOf(context, job).flatMap(({ disclose }) =>
      disclose.filter((line) => !line.includes('water resistance')).map((line) => packText(line)),
    ),
  ];
}

export function partLines(context: Context, job: JobRecord): Message[] {
  const fitted = fittedNow(job).map(({ entry }) => entry);
  const before = fittedBefore(context, job).map(
    ({ before: { at }, entry: { component, grade } }) =>
      say`${componentName(context, component)}: ${partGradeWords[grade]}, fitted when it was here before (${typed(dayIn(context, at))})`,
  );
  if (!fitted.length)
    return before.length ? [say`No part was replaced this time.`, ...before] : [say`No part was replaced.`];
  const notOriginal = fitted.filter(({ grade }) => grade !== 'original');
  const ownPanel =
    fitted.some(({ component }) => component === 'front-glass') &&
    !fitted.some(({ component }) => component === 'display-assembly');
  return [
    ...fitted.map(({ component, grade, part }) => {
      const words = plain`${componentName(context, component)}: ${partGradeWords[grade]}`;
      const supplier = part === undefined ? '' : (context.store.shelf.get(part)?.supplier ?? '');
      return supplier && context.collective.settings.pageSupplier
        ? say`${words}, from ${verbatim(supplier)}`
        : words;
    }),
    ...(ownPanel ? [say`The panel is the phone’s own, under a new glass.`] : []),
    notOriginal.length
      ? say`Not original: ${listWords(notOriginal.map(({ component }) => componentName(context, component)))}.`
      : say`All parts fitted are original.`,
    ...before,
  ];
}

/** What is promised of it, where anything is and something was fitted. */
export function promiseLines({ collective }: Context, job: JobRecord): Message[] {
  if (!fittedNow(job).length) return [];
  const days = job.ended?.ending.promised ?? collective.settings.promisedDays;
  return days
    ? [
        counted(
          days,
          'If a part that was fitted here fails again within {0} day, bring the phone back.',
          'If a part that was fitted here fails again within {0} days, bring the phone back.',
        ),
      ]
    : [];
}

export function batteryLines(job: JobRecord, state: PhoneState): Message[] {
  const { fitted, byQualified, readings } = batteryNow(job, state);
  const measured = readings.map(
    ({ value, unit, of }) => plain`${of ? verbatim(of) : say`Battery`}: ${quantity(value, unit)}`,
  );
  const which = fitted
    ? [say`Another cell was fitted here: ${partGradeWords[fitted]}.`]
    : byQualified
      ? [say`Another cell was fitted by someone qualified.`]
      : [];
  return [
    ...which,
    ...(measured.length ? measured : [which.length ? say`Not measured since.` : say`Not measured.`]),
  ];
}

export function doneLines(context: Context, job: JobRecord, state: PhoneState, opened: boolean): Message[] {
  const { knowledge } = context;
  const ending = job.ended?.ending;
  const fault = ending?.fault ? knowledge.faults.get(ending.fault) : undefined;
  const remedies = remediesOf(context, job);
  const came = job.symptoms.flatMap((id) => knowledge.symptoms.get(id) ?? []);
  const passed = [...testsOf(job)].flatMap(([id, { result }]) =>
    result === 'pass' ? [inSentence(functionName(context, id))] : [],
  );
  const { data } = answersOf(job);
  return [
    ...(came.length
      ? [say`What was wrong when it came: ${listWords(came.map(({ name }) => inSentence(packText(name))))}.`]
      : []),
    ...(fault && ending
      ? [
          isTold(ending)
            ? say`The fault: ${packText(fault.name)}.`
            : say`The fault, most likely: ${packText(fault.name)}.`,
        ]
      : []),
    ...(remedies.length
      ? [say`What mended it: ${listWords(remedies.map(({ name }) => packText(name)))}.`]
      : []),
    opened ? say`It was opened here.` : say`It was not opened here.`,
    ...pastDanger(context, state),
    ...(passed.length ? [say`Tested and passed: ${listWords(passed)}.`] : []),
    ...(data && eraseWords[data] ? [eraseWords[data]] : []),
  ];
}
