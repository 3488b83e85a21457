/** The hand-over page, for the next owner: the same content as Markdown and as what a PDF is drawn from. Nothing private. */
import { z } from 'zod';
import { replacedPage } from '../../shared/jobs/hand-over.ts';
import type { JobRecord } from '../../shared/jobs/job.ts';
import type { Message, Unrendered } from '../../shared/language/message.ts';
import { joined, mapped, packText, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import type { JobPhoto } from '../../shared/photos/photo.ts';
import { disposalAdvice, emergencyNumber, LOCAL_CODES } from '../../shared/safety/cautions.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import type { Context } from '../framework/context.ts';
import { type Draft, type DraftBlock, steps } from '../framework/reply.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import {
  batteryLines,
  doneLines,
  oddityLines,
  partLines,
  promiseLines,
  wasEverOpened,
  waterLines,
} from './hand-over-lines.ts';
import { momentWords } from './photo-file.ts';

/** What the PDF is drawn from. */
export const handOverPage = z.object({
  title: z.string(),
  /** ISO date: the day on the page, and in the document's own record. */
  date: z.string(),
  facts: z.array(z.object({ label: z.string(), value: z.string() })),
  sections: z.array(z.object({ heading: z.string(), lines: z.array(z.string()) })),
  footer: z.string(),
  /** On a page of their own: base64 of PNG. */
  photos: z.array(z.object({ caption: z.string(), png: z.string() })).optional(),
  /** Stands where lines were left out. */
  more: z.string(),
});
export type HandOverPage = z.infer<typeof handOverPage>;

function pageOf(context: Context, job: JobRecord): Unrendered<HandOverPage> {
  const { knowledge, collective, now } = context;
  const { region, zone } = collective.settings;
  const phone = phoneOfJob(context, job);
  const state = stateOfJob(context, job);
  const date = isoDateIn(zone, job.ended?.at ?? now);
  const opened = wasEverOpened(context, job);
  const replaced = replacedPage(job);
  const oddities = oddityLines(context, job);
  const section = (heading: Message, lines: Message[]) => (lines.length ? [{ heading, lines }] : []);
  return {
    title: say`${phone.name}: what was done, and what to know`,
    date: typed(date),
    facts: [
      { label: say`Restored by`, value: verbatim(collective.name) },
      { label: say`Date`, value: typed(date) },
      ...(replaced
        ? [{ label: say`Takes the place of`, value: say`the page of ${typed(isoDateIn(zone, replaced))}` }]
        : []),
      { label: say`Kind of phone`, value: packText(phone.family.name) },
    ],
    sections: [
      ...section(say`What was done`, doneLines(context, job, state, opened)),
      ...section(say`Parts fitted`, partLines(context, job)),
      ...section(say`Water`, waterLines(job, opened)),
      ...section(say`Known oddities`, oddities.length ? oddities : [say`None known.`]),
      ...section(say`Battery`, batteryLines(job, state)),
      ...section(say`What is promised`, promiseLines(context, job)),
      ...section(say`For your safety`, [
        say`If the back or screen lifts, or it gets hot, smells or hisses: do not charge, press or open it. Switch it off and unplug it if that is safe, set it apart from what burns, and ask someone qualified.`,
        say`Smoke or fire: get out and call ${emergencyNumber(knowledge, region)}.`,
        say`A cell that is done with: ${disposalAdvice(knowledge, region)}`,
        packText(LOCAL_CODES),
      ]),
    ],
    footer: job.ended
      ? say`${verbatim(collective.name)}, job ${job.number}`
      : say`Draft. ${verbatim(collective.name)}, job ${job.number}`,
    more: say`There is more: it is in the page as text.`,
  };
}

/** The page in a reply, without what every page says for safety: to be read before it is handed out. */
export const pageBlocks = (context: Context, job: JobRecord): DraftBlock[] =>
  pageOf(context, job)
    .sections.slice(0, -1)
    .map(({ heading, lines }) => steps(lines, heading, false));

/** Markdown is text: what a person typed must not become markup. */
const escaped = (text: string): string =>
  text
    .replace(/[\\`*_[\]|<>~&]/g, (sign) => `\\${sign}`)
    // At the beginning of a line: a heading, an entry of a list.
    .replace(/^[#+-]/, (sign) => `\\${sign}`)
    .replace(/^(\d+)([.)])/, '$1\\$2');

const markdownOf = ({ title, facts, sections, footer }: Unrendered<HandOverPage>): Message => {
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

/** The page as files of a reply. */
export function handOverFiles(
  context: Context,
  job: JobRecord,
  photos: readonly JobPhoto[] = [],
): Draft['files'] {
  const shown = photos.flatMap(({ number, moment }) => {
    const png = context.store.photos.png(job.number, number);
    return png === null ? [] : [{ caption: momentWords[moment], png: typed(png) }];
  });
  const data = { ...pageOf(context, job), ...(shown.length ? { photos: shown } : {}) };
  const alt = say`One page for the next owner of ${phoneOfJob(context, job).name}: what was done, parts and their grade, water, oddities, battery, safety.`;
  return [
    { name: `job-${job.number}-hand-over.md`, mime: 'text/markdown', alt, text: markdownOf(data) },
    {
      name: `job-${job.number}-hand-over.pdf`,
      mime: 'application/pdf',
      alt,
      draw: { kind: 'hand-over-page', data },
    },
  ];
}
