/** `/shelf take`: a part of the shelf goes into the phone of a job. */
import { say } from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import { defineAction } from '../framework/command.ts';
import { reply, steps, text } from '../framework/reply.ts';
import { jobChoice, jobOption, openJobMeant } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { pairingNotes } from '../shared/pairing-notes.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { partMeant, takePart } from '../shared/shelf-part.ts';
import { componentName } from '../shared/words.ts';
import { conditionOf, partDataOf, partOption, shelfData } from './options.ts';

export const shelfTake = defineAction({
  summary: say`Fit a part of the shelf: it and its price go into the job`,
  who: 'member',
  options: { part: partOption, job: jobOption },
  needs: [needs.part, needs.openJob],
  examples: ['/shelf take 7 job:12'],

  data: shelfData,
  refuses: ['not-found', 'missing-option', 'wrong-state', 'unsafe'],
  run: ({ part: number, job: named }, context) => {
    const job = openJobMeant(context, named);
    const part = partMeant(context, number);
    const after = takePart(context, job, part);
    const { family } = phoneOfJob(context, after);
    const name = componentName(context, part.component);
    return reply({
      title: say`Part ${number} is fitted in job ${after.number}: ${name}`,
      tone: part.paired ? 'caution' : 'good',
      blocks: [
        text(
          part.price && part.price.minor > 0
            ? say`${conditionOf(part)}. ${amount(part.price)} is in the job as spent.`
            : say`${conditionOf(part)}. Nothing was paid for it alone.`,
        ),
        ...(part.paired
          ? [
              text(
                say`It is tied to the board that it came from: test what it does before the phone is closed.`,
              ),
            ]
          : []),
        steps(pairingNotes(context, family, part.component), say`${name}: what the swap does`, false),
      ],
      choices: [
        jobChoice(after, say`Test its functions`, 'test'),
        {
          label: say`Take it out again`,
          invoke: { command: 'shelf', action: 'back', options: { part: String(number) } },
          open: true,
        },
      ],
      data: { parts: [partDataOf(context, partMeant(context, number))] },
    });
  },
});
