/** The one-page sheet for the next owner: the same content as Markdown and as what a PDF is drawn from. Nothing private. */
import { z } from 'zod';
import type { Remedy } from '../../knowledge/schema.ts';
import { answersOf, fittedOf, type JobRecord, readingsOf, testsOf } from '../../shared/jobs/job.ts';
import type { Message, Unrendered } from '../../shared/language/message.ts';
import {
  inSentence,
  joined,
  listWords,
  mapped,
  packText,
  plain,
  quantity,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { effectWords, pairingOf } from '../../shared/pairing/pairing.ts';
import type { SafetyStep } from '../../shared/phone/event.ts';
import { cellFactsOf, type PhoneState, wetFactsOf } from '../../shared/phone/state.ts';
import { disposalAdvice, emergencyNumber, LOCAL_CODES } from '../../shared/safety/cautions.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import type { Context } from '../framework/context.ts';
import type { Draft } from '../framework/reply.ts';
import { factWords } from '../shared/danger-reply.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { componentName, dayIn, partGradeWords } from '../shared/words.ts';
import { functionName } from './reply.ts';

/** What the PDF is drawn from. */
export const sheetData = z.object({
  title: z.string(),
  /** ISO date: the day on the sheet, and in the document's own record. */
  date: z.string(),
  facts: z.array(z.object({ label: z.string(), value: z.string() })),
  sections: z.array(z.object({ heading: z.string(), lines: z.array(z.string()) })),
  footer: z.string(),
  /** Stands where lines were left out. */
  more: z.string(),
});
export type SheetData = z.infer<typeof sheetData>;

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
/** A reading that tells of the battery's state. */
const ofBattery = ({ unit, of }: { unit: string; of: string }): boolean =>
  unit === 'cycles' || unit === 'mAh' || (unit === '%' && /capac|health|batter/i.test(of));

function sheetOf(context: Context, job: JobRecord): Unrendered<SheetData> {
  const { knowledge, collective, store, now } = context;
  const phone = phoneOfJob(context, job);
  const date = isoDateIn(collective.settings.zone, job.ended?.at ?? now);
  const fitted = fittedOf(job);
  const remedyId = job.ended?.ending.remedy;
  const trace = job.trace === null ? null : store.traces.get(job.trace);
  const worked = trace?.steps.findLast(
    (step) => !step.undone && step.kind === 'remedy' && step.outcome === 'works',
  );
  const remedy: Remedy | undefined = knowledge.remedies.get(remedyId ?? worked?.ref ?? '');
  const fault = job.ended?.ending.fault ? knowledge.faults.get(job.ended.ending.fault) : undefined;
  const tests = [...testsOf(job)];
  const waived = tests.filter(([, { result }]) => result === 'waived');
  const passed = tests.flatMap(([id, { result }]) =>
    result === 'pass' ? [inSentence(functionName(context, id))] : [],
  );
  const notOriginal = fitted.filter(({ grade }) => grade !== 'original');
  const oddities = [
    ...waived.map(([id, { reason }]) => plain`${functionName(context, id)}: ${verbatim(reason)}.`),
    ...fitted.flatMap(({ component }) =>
      pairingOf(knowledge, phone.family, component)
        .statements.filter(({ effect, likely }) => effect !== 'free' && likely >= 0.4)
        .map(
          (one) =>
            say`The new ${componentName(context, component)} ${effectWords[one.effect]}: ${packText(one.loses)}`,
        ),
    ),
    // That it was opened, and what that means for water, has a section of its own.
    ...(remedy?.disclose ?? [])
      .filter((line) => !line.includes('water resistance'))
      .map((line) => packText(line)),
  ];
  const battery = readingsOf(job).filter(ofBattery);
  const sealed = job.ended?.ending.sealed ?? null;
  const { data } = answersOf(job);
  const lines = {
    done: [
      ...(fault ? [say`It came with this fault: ${packText(fault.name)}.`] : []),
      ...(remedy ? [say`What mended it: ${packText(remedy.name)}.`] : []),
      ...(!fault && !remedy ? [say`It was opened, repaired where needed, and tested.`] : []),
      ...pastDanger(context, stateOfJob(context, job)),
      ...(passed.length ? [say`Tested and passed: ${listWords(passed)}.`] : []),
      ...(data && eraseWords[data] ? [eraseWords[data]] : []),
    ],
    parts: fitted.length
      ? [
          ...fitted.map(
            ({ component, grade }) => plain`${componentName(context, component)}: ${partGradeWords[grade]}`,
          ),
          notOriginal.length
            ? say`Not original: ${listWords(notOriginal.map(({ component }) => componentName(context, component)))}.`
            : say`All parts fitted are original.`,
        ]
      : [say`No part was replaced.`],
    water: [
      say`Water resistance is not assured: the phone was opened. Keep it away from water, whatever its maker said when it was new.`,
      ...(sealed === false ? [say`It is left unsealed: dust and damp get in more easily than before.`] : []),
    ],
    battery: battery.length
      ? battery.map(
          ({ value, unit, of }) => plain`${of ? verbatim(of) : say`Battery`}: ${quantity(value, unit)}`,
        )
      : [say`Not measured.`],
    care: [
      say`If the back or screen lifts, or it gets hot, smells or hisses: do not charge, press or open it. Switch it off and unplug it if that is safe, set it apart from what burns, and ask someone qualified.`,
      say`Smoke or fire: get out and call ${emergencyNumber(knowledge, collective.settings.region)}.`,
      say`A cell that is done with: ${disposalAdvice(knowledge, collective.settings.region)}`,
      packText(LOCAL_CODES),
    ],
  };
  return {
    title: say`${phone.name}: what was done, and what to know`,
    date: typed(date),
    facts: [
      { label: say`Restored by`, value: verbatim(collective.name) },
      { label: say`Date`, value: typed(date) },
      { label: say`Kind of phone`, value: packText(phone.family.name) },
    ],
    sections: [
      { heading: say`What was done`, lines: lines.done },
      { heading: say`Parts fitted`, lines: lines.parts },
      { heading: say`Water`, lines: lines.water },
      {
        heading: say`Known oddities`,
        lines: oddities.length ? oddities : [say`None known.`],
      },
      { heading: say`Battery`, lines: lines.battery },
      { heading: say`For your safety`, lines: lines.care },
    ],
    footer: job.ended
      ? say`${verbatim(collective.name)}, job ${job.number}`
      : say`Draft. ${verbatim(collective.name)}, job ${job.number}`,
    more: say`There is more: it is in the sheet as text.`,
  };
}

/** Markdown is text: what a person typed must not become markup. */
const escaped = (text: string): string =>
  text
    .replace(/[\\`*_[\]|<>~&]/g, (sign) => `\\${sign}`)
    // At the beginning of a line: a heading, an entry of a list.
    .replace(/^[#+-]/, (sign) => `\\${sign}`)
    .replace(/^(\d+)([.)])/, '$1\\$2');

const markdownOf = ({ title, facts, sections, footer }: Unrendered<SheetData>): Message => {
  const safe = (one: Message) => mapped(one, escaped);
  return joined(
    [
      plain`# ${safe(title)}`,
      joined(
        facts.map(({ label, value }) => plain`- ${label}: ${safe(value)}`),
        '\n',
      ),
      ...sections.map(
        ({ heading, lines }) =>
          plain`## ${heading}\n\n${joined(
            lines.map((line) => plain`- ${safe(line)}`),
            '\n',
          )}`,
      ),
      plain`${safe(footer)}\n`,
    ],
    '\n\n',
  );
};

/** The sheet as files of a reply. */
export function sheetFiles(context: Context, job: JobRecord): Draft['files'] {
  const data = sheetOf(context, job);
  const alt = say`One page for the next owner of ${phoneOfJob(context, job).name}: what was done, parts and their grade, water, oddities, battery, safety.`;
  return [
    { name: `job-${job.number}-sheet.md`, mime: 'text/markdown', alt, text: markdownOf(data) },
    { name: `job-${job.number}-sheet.pdf`, mime: 'application/pdf', alt, draw: { kind: 'job-sheet', data } },
  ];
}
