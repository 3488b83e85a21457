/** `/job label`: a small label for the tray or the bag. No name and no IMEI on it. */
import { z } from 'zod';
import type { JobRecord } from '../../shared/jobs/job.ts';
import type { Message, Unrendered } from '../../shared/language/message.ts';
import { inSentence, joined, listWords, packText, say, typed } from '../../shared/language/say.ts';
import { pairingOf } from '../../shared/pairing/pairing.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { choiceOption, optional } from '../framework/option.ts';
import { reply, text } from '../framework/reply.ts';
import { jobMeant, jobOption } from '../shared/find-job.ts';
import { symptomsNow } from '../shared/find-trace.ts';
import { needs } from '../shared/needs.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { componentName, dayIn } from '../shared/words.ts';
import { jobData, jobDataOf } from './job-data.ts';
import { jobHeading } from './reply.ts';

/** What the label is drawn from. */
export const labelDrawing = z.object({
  number: z.string(),
  model: z.string(),
  /** A line each, the most important first; what has no room is cut. */
  lines: z.array(z.object({ text: z.string(), warns: z.boolean() })),
  day: z.string(),
});
export type LabelDrawing = z.infer<typeof labelDrawing>;

function labelOf(context: Context, job: JobRecord): Unrendered<LabelDrawing> {
  const { knowledge } = context;
  const phone = phoneOfJob(context, job);
  const state = stateOfJob(context, job);
  const complaints = symptomsNow(context, job).flatMap((id) => knowledge.symptoms.get(id) ?? []);
  const tied = Object.keys(phone.family.components).filter(
    (component) => pairingOf(knowledge, phone.family, component).travels,
  );
  const line = (message: Message, warns = false) => ({ text: message, warns });
  return {
    number: typed(String(job.number)),
    model: phone.name,
    lines: [
      ...(state.danger === 'none' ? [] : [line(say`Cell may be dangerous: do not charge or open`, true)]),
      ...(state.wet === 'wet' ? [line(say`Wet: no charger, no switching on`, true)] : []),
      ...(complaints.length
        ? [line(listWords(complaints.map(({ name }) => inSentence(packText(name)))))]
        : []),
      ...(tied.length
        ? [
            line(
              say`Stays with its board: ${listWords(tied.map((id) => inSentence(componentName(context, id))))}`,
            ),
          ]
        : []),
    ],
    day: typed(dayIn(context, job.at)),
  };
}

export const jobLabel = defineAction({
  summary: say`A small label to print: number, model, complaints, and what must stay with its board`,
  who: 'member',
  options: {
    job: jobOption,
    as: optional(
      choiceOption({
        summary: say`A picture, or a page of its size`,
        example: 'pdf',
        choices: ['png', 'pdf'],
      }),
    ),
  },
  needs: [needs.job],
  examples: ['/job label job:12', '/job label job:12 as:pdf'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ job: named, as = 'png' }, context) => {
    const job = jobMeant(context, named);
    const data = labelOf(context, job);
    return reply({
      title: say`${jobHeading(context, job)}: its label`,
      blocks: [text(say`It has no name and no IMEI on it. 62 by 36 mm is a good size to print.`)],
      files: [
        {
          name: `job-${job.number}-label.${as}`,
          mime: as === 'pdf' ? 'application/pdf' : 'image/png',
          alt: joined([data.model, ...data.lines.map((one) => one.text)], '; '),
          draw: { kind: as === 'pdf' ? 'label-page' : 'label', data },
        },
      ],
      data: jobDataOf(context, job),
    });
  },
});
