import { pairingEffects, partGrades } from '../../knowledge/schema.ts';
import { fittedOf } from '../../shared/jobs/job.ts';
import { inRow, say, typed } from '../../shared/language/say.ts';
import { effectWords } from '../../shared/pairing/pairing.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf, type Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { choiceOption, lookupOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, steps, text } from '../framework/reply.ts';
import { jobMeant, jobOption } from '../shared/find-job.ts';
import { components, modelsAndFamilies } from '../shared/lookups.ts';
import { mustHave } from '../shared/must-have.ts';
import { pairingNotes } from '../shared/pairing-notes.ts';
import { type Phone, phoneOf, phoneOfJob } from '../shared/phone.ts';
import { componentName } from '../shared/words.ts';
import { swapData, swapDataOf } from './reply.ts';

/** The phone that a report is about: of a job, or as it is named. */
function phoneOfReport(
  context: Context,
  of: Named | undefined,
  job: Named | undefined,
): { phone: Phone; job: number | null } {
  if (of) return { phone: phoneOf(context, of), job: job ? jobMeant(context, job).number : null };
  if (!job) {
    throw new Refusal({
      code: 'missing-option',
      problem: say`On which phone?`,
      expected: say`of: with a model or family, or job: with its number`,
      option: 'of',
    });
  }
  const found = jobMeant(context, job);
  return { phone: phoneOfJob(context, found), job: found.number };
}

export const swapReport = defineAction({
  summary: say`Say what a swapped component did`,
  who: 'member',
  options: {
    component: lookupOption({ summary: say`What was swapped`, example: 'battery', lookup: components }),
    effect: choiceOption({
      summary: say`What the phone did: free (all works), a notice, reduced, calibrate, lost`,
      example: 'notice',
      choices: pairingEffects,
    }),
    of: optional(
      lookupOption({ summary: say`The model, or a family`, example: 'Orrin K3', lookup: modelsAndFamilies }),
    ),
    grade: optional(
      choiceOption({ summary: say`The grade of the part`, example: 'used', choices: partGrades }),
    ),
    board: optional(
      choiceOption({
        summary: say`Does it sit on the same board as before, or on another (the default)`,
        example: 'another',
        choices: ['another', 'same'],
      }),
    ),
    saw: optional(textOption({ summary: say`What you noticed`, example: 'health hidden', max: 200 })),
    mended: optional(textOption({ summary: say`What put it right`, example: 'nothing', max: 200 })),
    job: jobOption,
  },
  examples: [
    '/swap battery effect:notice of:"Orrin K3" grade:used saw:"health hidden"',
    '/swap "fingerprint sensor" effect:lost job:12',
  ],

  data: swapData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ component, effect, of, grade, board = 'another', saw = '', mended = '', job: named }, context) => {
    const { phone, job } = phoneOfReport(context, of, named);
    const { family } = phone;
    mustHave(context, family, component.id, 'component');
    const record = job === null ? null : context.store.jobs.get(job);
    const fitted = record && fittedOf(record).findLast((one) => one.component === component.id);
    const told = grade ?? fitted?.grade;
    if (!told) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Which grade was the ${componentName(context, component.id)}?`,
        expected: say`grade: and one of ${inRow(partGrades.map((one) => typed(one)))}`,
        option: 'grade',
      });
    }
    const added = context.store.swaps.add({
      family: family.id,
      model: phone.model?.id ?? null,
      component: component.id,
      grade: told,
      board,
      effect,
      saw,
      mended,
      job,
      by: actorOf(context),
      at: context.now,
    });
    return reply({
      title: say`Report ${added.number} is kept: ${componentName(context, component.id)} of ${phone.name}, ${effectWords[effect]}`,
      tone: 'good',
      blocks: [
        steps(pairingNotes(context, family, component.id), say`With it, this is known`, false),
        ...(board === 'same'
          ? [text(say`On its own board it says nothing of pairing, so it is shown but not counted.`)]
          : []),
      ],
      choices: [
        {
          label: say`All that is known of it`,
          invoke: {
            command: 'paired',
            action: '',
            options: { of: phone.model?.name ?? family.id, component: component.id },
          },
          open: true,
        },
      ],
      data: swapDataOf(context, [added]),
    });
  },
});
