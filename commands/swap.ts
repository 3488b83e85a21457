import { z } from 'zod';
import { pairingEffects } from '../knowledge/schema.ts';
import { fittedOf } from '../shared/jobs/job.ts';
import { say } from '../shared/language/say.ts';
import { partGrades, type SwapRecord } from '../shared/store/index.ts';
import { type Phone, phoneOf } from './bench.ts';
import { defineAction, defineCommand } from './command.ts';
import type { Context } from './context.ts';
import { jobMeant, jobOption } from './job/options.ts';
import { phoneOfJob } from './job/reply.ts';
import { components, modelsAndFamilies, type Named } from './lookup.ts';
import { choiceOption, integerOption, lookupOption, optional, textOption } from './option.ts';
import { pairingNotes, swapInWords } from './paired.ts';
import { Refusal } from './refusal.ts';
import { reply, steps, table, text } from './reply.ts';
import { dayIn } from './words.ts';

export const swapData = z.object({
  swaps: z.array(
    z.object({
      number: z.number(),
      family: z.string(),
      model: z.string().nullable(),
      component: z.string(),
      grade: z.enum(partGrades),
      board: z.enum(['same', 'another']),
      effect: z.enum(pairingEffects),
      saw: z.string(),
      mended: z.string(),
      by: z.string(),
      at: z.string(),
      aside: z.string().nullable(),
    }),
  ),
});

const SHOWN = 20;
const modelName = ({ store, knowledge }: Context, { model, family }: SwapRecord): string =>
  (model === null ? null : store.models.get(model)?.name) ?? knowledge.families.get(family)?.name ?? family;
const dataOf = (context: Context, swaps: readonly SwapRecord[]): z.infer<typeof swapData> => ({
  swaps: swaps.map((swap) => ({
    number: swap.number,
    family: swap.family,
    model: swap.model === null ? null : (context.store.models.get(swap.model)?.name ?? null),
    component: swap.component,
    grade: swap.grade,
    board: swap.board,
    effect: swap.effect,
    saw: swap.saw,
    mended: swap.mended,
    by: swap.by,
    at: swap.at.toISOString(),
    aside: swap.aside?.why ?? null,
  })),
});

/** The phone that a report is about: of a job, or as it is named. */
function phoneOfReport(
  context: Context,
  of: Named | undefined,
  job: Named | undefined,
): { phone: Phone; job: number | null } {
  if (of) return { phone: phoneOf(context, of), job: job ? jobMeant(context, job).number : null };
  if (!job) {
    throw new Refusal({
      problem: say`On which phone?`,
      expected: say`of: with a model or family, or job: with its number`,
      option: 'of',
    });
  }
  const found = jobMeant(context, job);
  return { phone: phoneOfJob(context, found), job: found.number };
}

const report = defineAction({
  summary: 'Say what a swapped component did',
  who: 'member',
  options: {
    component: lookupOption({ summary: 'What was swapped', example: 'battery', lookup: components }),
    effect: choiceOption({
      summary: 'What the phone did: free (all works), a notice, reduced, calibrate, lost',
      example: 'notice',
      choices: pairingEffects,
    }),
    of: optional(
      lookupOption({ summary: 'The model, or a family', example: 'Orrin K3', lookup: modelsAndFamilies }),
    ),
    grade: optional(choiceOption({ summary: 'The grade of the part', example: 'used', choices: partGrades })),
    board: optional(
      choiceOption({
        summary: 'Does it sit on the same board as before, or on another (the default)',
        example: 'another',
        choices: ['another', 'same'],
      }),
    ),
    saw: optional(textOption({ summary: 'What you noticed', example: 'health hidden', max: 200 })),
    mended: optional(textOption({ summary: 'What put it right', example: 'nothing', max: 200 })),
    job: jobOption,
  },
  examples: [
    '/swap battery effect:notice of:"Orrin K3" grade:used saw:"health hidden"',
    '/swap "fingerprint sensor" effect:lost job:12',
  ],
  run: ({ component, effect, of, grade, board = 'another', saw = '', mended = '', job: named }, context) => {
    const { phone, job } = phoneOfReport(context, of, named);
    const { family } = phone;
    if (!(component.id in family.components)) {
      throw new Refusal({
        problem: say`A ${family.name} has no ${component.name}.`,
        expected: say`a component of its family`,
        option: 'component',
      });
    }
    const record = job === null ? null : context.store.jobs.get(job);
    const fitted = record && fittedOf(record).findLast((one) => one.component === component.id);
    const told = grade ?? fitted?.grade;
    if (!told) {
      throw new Refusal({
        problem: say`Which grade was the ${component.name}?`,
        expected: say`grade: and one of ${partGrades.join(', ')}`,
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
      by: context.person.name,
      byKey: context.person.key,
      at: context.now,
    });
    return reply({
      title: say`Report ${added.number} is kept: ${component.name} of ${phone.name}, ${effect}`,
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
      data: dataOf(context, [added]),
    });
  },
});

const list = defineAction({
  summary: 'List the reports, newest first',
  options: {
    component: optional(
      lookupOption({ summary: 'Of one component', example: 'battery', lookup: components }),
    ),
  },
  examples: ['/swap list', '/swap list battery'],
  run: ({ component }, context) => {
    const found = context.store.swaps.list({
      ...(component ? { component: component.id } : {}),
      limit: SHOWN,
    });
    return reply({
      title: found.length
        ? say`Swap reports${component ? say` of ${component.name}` : ''}`
        : say`No swap report yet`,
      blocks: found.length
        ? [
            table(
              [say`>No.`, say`Day`, say`Phone`, say`What was seen`, say`By`],
              found.map((swap) => [
                String(swap.number),
                dayIn(context, swap.at),
                modelName(context, swap),
                swapInWords(context, swap),
                swap.by,
              ]),
            ),
          ]
        : [text(say`Tell what a swap did: /swap battery effect:notice of:"Orrin K3" grade:used`)],
      data: dataOf(context, found),
    });
  },
});

const aside = defineAction({
  summary: 'Set a report aside: it is shown, and counts no more',
  who: 'steward',
  options: {
    report: integerOption({ summary: 'Its number, from /swap list', example: '3', min: 1, max: 1e9 }),
    why: textOption({ summary: 'Why', example: 'the part was faulty', max: 200 }),
  },
  examples: ['/swap aside 3 why:"the part was faulty"'],
  run: ({ report: number, why }, context) => {
    const { store, person, now } = context;
    const found = store.swaps.get(number);
    if (!found || found.aside) {
      throw new Refusal({
        problem: found
          ? say`Report ${number} is set aside already.`
          : say`There is no report ${number} here.`,
        expected: say`a number from /swap list`,
        option: 'report',
      });
    }
    store.swaps.setAside(number, { by: person.name, at: now, why });
    const after = store.swaps.get(number);
    return reply({
      title: say`Report ${number} is set aside`,
      blocks: [text(say`It said: ${swapInWords(context, found)}. It is still shown, with your reason.`)],
      data: dataOf(context, after ? [after] : []),
    });
  },
});

export const swap = defineCommand({
  name: 'swap',
  summary: 'Tell what a swapped component did, for everyone’s /paired',
  main: 'report',
  actions: { report, list, aside },
});
