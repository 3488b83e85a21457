/** What comes next for a job, with its choices: danger, a question, liquid, then the work, then a buyer. */

import { answers } from '../../shared/jobs/entry.ts';
import { type JobRecord, listingOf, openQuestions } from '../../shared/jobs/job.ts';
import { HAND_BACK, isErased, whyNoWork } from '../../shared/jobs/rules.ts';
import { joined, say } from '../../shared/language/say.ts';
import { type PhoneState, wetFactsOf } from '../../shared/phone/state.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, type DraftChoice, steps, text } from '../framework/reply.ts';
import { dangerChoice, dangerReply, misreadChoice } from '../shared/danger-reply.ts';
import { jobChoice } from '../shared/find-job.ts';
import { symptomsNow } from '../shared/find-trace.ts';
import { untestedOf } from '../shared/job-words.ts';
import { stateOfJob, subjectOfJob } from '../shared/phone-state.ts';

const questionWords = {
  ownership: { ask: say`Is it shown whose it is?`, good: say`Ownership is shown`, bad: say`It is not shown` },
  lock: { ask: say`Is it free of an account lock?`, good: say`It is free`, bad: say`It is locked` },
  stolen: { ask: say`Is it on a stolen-phone list?`, good: say`It is on none`, bad: say`It is listed` },
} as const;

/** To begin the trace of its symptoms, or to go on with one that is open. */
function traceChoice(context: Context, job: JobRecord): DraftChoice | null {
  if (job.trace === null) {
    if (!symptomsNow(context, job).length) return null;
    return {
      ...jobChoice(job, say`Trace the fault`, ''),
      invoke: {
        command: 'trace',
        action: 'start',
        options: { job: String(job.number) },
      },
    };
  }
  if (context.store.traces.get(job.trace)?.state !== 'open') return null;
  return {
    label: say`Go on with trace ${job.trace}`,
    invoke: { command: 'trace', action: 'show', options: { trace: String(job.trace) } },
    open: true,
  };
}

interface NextStep {
  blocks: DraftBlock[];
  choices: DraftChoice[];
}

function dangerStep(context: Context, job: JobRecord, state: PhoneState): NextStep | null {
  const danger = dangerReply(context, subjectOfJob(job), job.revision, state);
  if (!danger) return null;
  const away =
    state.danger === 'suspect'
      ? []
      : [
          jobChoice(job, say`It was handed back to its owner`, 'finish', { as: 'handed-back' }),
          jobChoice(job, say`It was passed on for good`, 'finish', { as: 'passed' }),
        ];
  return { blocks: danger.blocks, choices: [...danger.choices, ...away] };
}

/** The first question that is open, before any money is spent. */
function questionStep(job: JobRecord, { question }: ReturnType<typeof openQuestions>[number]): NextStep {
  const words = questionWords[question];
  const [good, bad] = answers[question];
  return {
    blocks: [
      text(
        joined([
          words.ask,
          question === 'stolen' ? say`Look it up by its IMEI (*#06#) where your country has a list.` : '',
        ]),
        say`Before any money is spent`,
      ),
    ],
    choices: [
      jobChoice(job, words.good, 'answer', { [question]: good }),
      jobChoice(job, words.bad, 'answer', { [question]: bad }),
    ],
  };
}

function wetStep(context: Context, job: JobRecord, state: PhoneState): NextStep {
  const subject = subjectOfJob(job);
  const trace = traceChoice(context, job);
  return {
    blocks: [
      text(
        trace
          ? say`It is wet: no charger, no supply and no switching on before it is cleaned inside and dry. Next: the trace, or the cleaning.`
          : say`It is wet: no charger, no supply and no switching on before it is cleaned inside and dry. Next: the cleaning.`,
      ),
    ],
    choices: [
      ...(trace ? [trace] : []),
      dangerChoice(subject, job.revision, say`It is cleaned inside and dry`, 'cleaned'),
      ...misreadChoice(context, subject, job.revision, wetFactsOf(state)),
    ],
  };
}

/** Nothing stands in the way: the trace and the tests, then a buyer. */
function workStep(context: Context, job: JobRecord): NextStep {
  const untested = untestedOf(context, job);
  const trace = traceChoice(context, job);
  return {
    blocks: [
      text(
        untested.length
          ? !trace
            ? say`Next: log what you spend and fit (/job log), and test every function before the seal is pressed (/job test).`
            : job.trace === null
              ? say`Next: trace the fault, log what you spend and fit (/job log), and test every function before the seal is pressed (/job test).`
              : say`Next: go on with the trace, log what you spend and fit (/job log), and test every function before the seal is pressed (/job test).`
          : !isErased(job)
            ? say`Every function is tested. Next: erase what was on it, the account taken off first.`
            : listingOf(job)
              ? say`Next: /job finish as:restored sold: and its price.`
              : say`Every function is tested. Next: offer it (/job sell), or /job finish as:restored sold: and its price.`,
      ),
    ],
    choices: [
      ...(trace ? [trace] : []),
      ...(untested.length ? [jobChoice(job, say`Test its functions`, 'test')] : handOverChoices(job)),
    ],
  };
}

/** What was on it is erased first; then it is offered, sold or kept. */
const handOverChoices = (job: JobRecord): DraftChoice[] => [
  ...(isErased(job)
    ? [
        { ...jobChoice(job, say`Sold: for how much?`, 'finish', { as: 'restored' }), fill: 'sold' },
        jobChoice(job, say`It stays here`, 'finish', { as: 'restored', kept: 'yes' }),
      ]
    : erasedChoices(job)),
  jobChoice(job, say`A text to sell it by`, 'sell'),
  jobChoice(job, say`The hand-over page`, 'page'),
];

/** How what was on it was erased. */
export const erasedChoices = (job: JobRecord): DraftChoice[] => [
  jobChoice(job, say`Erased: purged`, 'answer', { data: 'purge' }),
  jobChoice(job, say`Erased: cleared`, 'answer', { data: 'clear' }),
  ...(job.came === 'customer'
    ? [jobChoice(job, say`Its owner keeps it`, 'answer', { data: 'owner-keeps' })]
    : []),
];

/** What comes next, with its choices. */
export function jobNextStep(context: Context, job: JobRecord): NextStep {
  if (job.ended) return { blocks: [], choices: [] };
  const state = stateOfJob(context, job);
  const danger = dangerStep(context, job, state);
  if (danger) return danger;
  const open = openQuestions(job);
  const [question] = open.filter((one) => one.state === 'open');
  const blocked = whyNoWork(job);
  if (blocked && open.some((one) => one.state === 'bad')) {
    return {
      blocks: [
        text(say`${blocked.problem}. Nothing is bought for it and its board is not worked on.`),
        steps(HAND_BACK, say`How it goes back`, false),
      ],
      choices: [jobChoice(job, say`It was handed back`, 'finish', { as: 'handed-back' })],
    };
  }
  if (question) return questionStep(job, question);
  return state.wet === 'wet' ? wetStep(context, job, state) : workStep(context, job);
}
