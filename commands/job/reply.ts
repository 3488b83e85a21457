/** What `/job` answers about one job: where it stands, its cautions, what was said at intake, what comes next. */

import { answersOf, type JobRecord, jobStateOf, openQuestions } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  inRow,
  joined,
  listWords,
  packText,
  plain,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { cardOf } from '../../shared/safety/cautions.ts';
import type { Context } from '../framework/context.ts';
import { type Draft, type DraftBlock, type DraftCard, facts, reply } from '../framework/reply.ts';
import { cardsOfState } from '../shared/caution-cards.ts';
import { symptomsNow } from '../shared/find-trace.ts';
import { stateInWords } from '../shared/job-words.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { dayOf, percent } from '../shared/words.ts';
import { answerInWords, faultName } from './entry-words.ts';
import { type JobDraft, jobDataOf } from './job-data.ts';
import { jobNextStep } from './job-next-step.ts';

/** Cautions of a job: a cell that must be isolated, and the ones on data and ownership where an answer is bad. */
export function cautionsOf(context: Context, job: JobRecord): DraftCard[] {
  const phone = stateOfJob(context, job);
  const { knowledge, collective } = context;
  const { region } = collective.settings;
  const card = (id: string) => {
    const caution = knowledge.cautions.get(id);
    return caution ? [cardOf(knowledge, caution, region)] : [];
  };
  return [
    ...(job.ended === null ? cardsOfState(context, phone) : []),
    ...(openQuestions(job).some(({ state }) => state === 'bad') ? card('data-and-ownership') : []),
  ];
}

/** "Job 12, Orrin K3". */
export const jobHeading = (context: Context, job: JobRecord): Message =>
  say`Job ${job.number}, ${phoneOfJob(context, job).name}`;

function toneOf(context: Context, job: JobRecord): Draft['tone'] {
  const state = stateOfJob(context, job);
  if (job.ended === null && state.danger !== 'none') return 'danger';
  return jobStateOf(job, state) === 'held' ? 'caution' : 'plain';
}

/** The job as it stands, for the room. */
export function jobReply(context: Context, job: JobRecord, more: Partial<JobDraft> = {}): JobDraft {
  const { title, blocks = [], cautions = [], ...rest } = more;
  const next = jobNextStep(context, job);
  return reply({
    title: title ?? plain`${jobHeading(context, job)}: ${stateInWords(context, job)}`,
    tone: toneOf(context, job),
    choices: next.choices,
    data: jobDataOf(context, job),
    ...rest,
    cautions: [...cautionsOf(context, job), ...cautions],
    blocks: [...blocks, ...next.blocks],
  });
}

/** Where it came from, what it shows, and the answers so far. */
export function intakeFacts(context: Context, job: JobRecord): DraftBlock {
  const given = answersOf(job);
  const shown = job.ended ? job.symptoms : symptomsNow(context, job);
  const symptoms = shown.map((id) => packText(context.knowledge.symptoms.get(id)?.name ?? id));
  const cameWords = {
    given: say`given`,
    bought: say`bought`,
    left: say`left here`,
    customer: say`from a customer`,
  } as const;
  const likely = Object.entries(job.promise.odds).sort(([, a], [, b]) => b - a)[0];
  return facts([
    [say`Held by`, verbatim(job.holder.name)],
    [say`Came`, plain`${cameWords[job.came]}, ${dayOf(context, job.at)}`],
    ...(symptoms.length ? [[say`Shows`, listWords(symptoms)] as const] : []),
    ...(job.imeiLast
      ? [[typed('IMEI'), say`ends in ${verbatim(job.imeiLast)}; the rest is sealed`] as const]
      : []),
    [
      say`Ownership, lock, list`,
      inRow(
        (['ownership', 'lock', 'stolen'] as const).map((one) => {
          const answer = given[one];
          return answer === null ? say`not answered` : answerInWords(one, answer);
        }),
      ),
    ],
    [
      say`Data`,
      given.data === null
        ? say`not said; it is erased before it changes hands`
        : answerInWords('data', given.data),
    ],
    ...(likely && !job.ended
      ? [[say`Likeliest at intake`, joined([faultName(context, likely[0]), percent(likely[1])])] as const]
      : []),
    ...(job.ended ? [[say`It was`, faultName(context, job.ended.ending.fault)] as const] : []),
  ]);
}
