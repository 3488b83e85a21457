/** `/job returned`: a finished phone is back. What failed again is written down, and it goes on in a job of its own. */
import type { JobRecord } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, joined, listWords, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption, manyOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { steps, text } from '../framework/reply.ts';
import { jobMeant } from '../shared/find-job.ts';
import { endedWords } from '../shared/job-words.ts';
import { isWithin } from '../shared/lasting.ts';
import { components, jobs, symptoms } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { openJob } from '../shared/open-job.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { componentName, partGradeWords } from '../shared/words.ts';
import { jobData } from './job-data.ts';
import { handOf } from './options.ts';
import { intakeFacts, jobHeading, jobReply } from './reply.ts';

const DAY_MS = 24 * 3600 * 1000;

/** What was fitted in it, and which of that failed again. */
function fittedLines(context: Context, job: JobRecord, failed: readonly string[]): Message[] {
  return context.store.fittings.ofJob(job.number).map(({ component, grade, supplier }) => {
    const part = plain`${componentName(context, component)}, ${partGradeWords[grade]}`;
    const from = supplier ? say`${part}, from ${verbatim(supplier)}` : part;
    return failed.includes(component) ? say`${from}: failed again` : say`${from}: holds`;
  });
}

function promiseWords(context: Context, job: JobRecord, days: number): Message {
  const promised = job.ended?.ending.promised ?? 0;
  const since = counted(days, 'It was out for {0} day.', 'It was out for {0} days.');
  if (!promised) return plain`${since} ${say`Nothing was promised of it.`}`;
  const within = isWithin({ since: job.ended?.at ?? job.at, promised }, context.now);
  return plain`${since} ${within ? say`That is within the ${promised} days that were promised.` : say`The ${promised} days that were promised are over.`}`;
}

export const jobReturned = defineAction({
  summary: say`A finished phone is back: what failed again. It goes on in a job of its own; what the first one taught stays`,
  who: 'member',
  options: {
    job: lookupOption({ summary: say`The number of its job`, example: '12', lookup: jobs }),
    failed: optional(
      manyOption(lookupOption({ summary: say`What failed again`, example: 'battery', lookup: components })),
    ),
    symptoms: optional(
      manyOption(
        lookupOption({ summary: say`What it does wrong now`, example: 'drains fast', lookup: symptoms }),
      ),
    ),
    note: optional(textOption({ summary: say`Words for the room`, example: 'after a fall', max: 200 })),
  },
  needs: [needs.endedJob],
  examples: ['/job returned 12 failed:battery symptoms:"drains fast"', '/job returned 12'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ job: named, failed: given = [], symptoms: shown = [], note }, context) => {
    const { store, now } = context;
    const before = jobMeant(context, named);
    if (before.ended?.as !== 'restored') {
      throw new Refusal({
        code: 'wrong-state',
        problem: before.ended
          ? say`Job ${before.number} was ${endedWords[before.ended.as]}.`
          : say`Job ${before.number} is open.`,
        expected: say`a job that was finished as restored`,
        option: 'job',
      });
    }
    const running = before.entries.findLast(({ entry }) => entry.kind === 'came-back')?.entry;
    if (running?.kind === 'came-back' && store.jobs.get(running.job)?.ended === null) {
      throw new Refusal({
        code: 'wrong-state',
        problem: say`It is back already, as job ${running.job}.`,
        expected: say`that job`,
        option: 'job',
        example: `/job show job:${running.job}`,
      });
    }
    const phone = phoneOfJob(context, before);
    const failed = [...new Set(given.map(({ id }) => id))];
    const foreign = given.find(({ id }) => !(id in phone.family.components));
    if (foreign) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`A ${packText(phone.family.name)} has no ${verbatim(foreign.name)}.`,
        expected: say`components of its family`,
        option: 'failed',
      });
    }
    const { job } = openJob(context, {
      phone,
      came: before.ended.ending.kept ? 'left' : 'customer',
      grade: before.grade,
      symptoms: shown.map(({ id }) => id),
      tell: false,
      denied: [],
      damage: [],
      found: [],
    });
    const hand = handOf(context);
    store.jobs.add(before.number, [{ kind: 'came-back', failed, job: job.number }], hand);
    for (const component of failed) store.fittings.fail(before.number, component, now);
    const opened = store.jobs.add(
      job.number,
      [
        { kind: 'came-from', failed, job: before.number },
        ...(note ? [{ kind: 'said' as const, text: note }] : []),
      ],
      hand,
    );
    const days = Math.max(0, Math.floor((now.getTime() - before.ended.at.getTime()) / DAY_MS));
    const lines = fittedLines(context, before, failed);
    const besides = failed.filter(
      (id) => !store.fittings.ofJob(before.number).some(({ component }) => component === id),
    );
    return jobReply(context, opened, {
      title: say`Job ${opened.number} is open: ${phone.name}, back from job ${before.number}`,
      blocks: [
        text(
          joined([
            promiseWords(context, before, days),
            besides.length
              ? say`Not fitted here, so it says nothing of a part: ${listWords(besides.map((id) => componentName(context, id)))}.`
              : '',
          ]),
        ),
        ...(lines.length ? [steps(lines, say`Fitted in ${jobHeading(context, before)}`, false)] : []),
        intakeFacts(context, opened),
      ],
    });
  },
});
