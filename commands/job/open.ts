/** `/job open`: a phone comes in. */

import { z } from 'zod';
import { cameWays, type JobRecord } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, packText, say, typed } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { choiceOption, lookupOption, moneyOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { type DraftChoice, onBack, text } from '../framework/reply.ts';
import { modelsAndFamilies } from '../shared/lookups.ts';
import { openJob } from '../shared/open-job.ts';
import { conditions, gradeOf, type Phone, phoneOf } from '../shared/phone.ts';
import { readBack, readData } from '../shared/read-back.ts';
import { checkDamage } from '../shared/said-besides.ts';
import { willMeet } from '../shared/will-meet.ts';
import {
  damageOption,
  deniedOption,
  foundOption,
  idsOf,
  symptomsOption,
  wordsOption,
} from '../shared/words-options.ts';
import { answerOptions, answersGiven } from './answer.ts';
import { jobData } from './job-data.ts';
import { moneyFacts } from './job-money.ts';
import { lookOffer } from './look.ts';
import { handOf, imeiOption } from './options.ts';
import { intakeFacts, jobReply } from './reply.ts';

/** The phone that is meant: as it is named, else what phones with its TAC turned out to be. */
function phoneAtIntake(
  context: Context,
  model: Named | undefined,
  tac: string | undefined,
): { phone: Phone; learnt: Message | null } {
  const [seen] = tac === undefined ? [] : context.store.tacs.find(tac);
  const found = seen && (context.store.models.get(seen.model ?? 0) ?? null);
  if (!model) {
    if (!seen) {
      throw new Refusal({
        code: 'missing-option',
        problem: tac ? say`No phone with an IMEI like this one has been here.` : say`Which phone is it?`,
        expected: say`a model or a family`,
        option: 'model',
      });
    }
    const phone = phoneOf(
      context,
      found
        ? { id: `model:${found.id}`, name: found.name }
        : { id: `family:${seen.family}`, name: seen.family },
    );
    return {
      phone,
      learnt: counted(
        seen.jobs,
        'Its IMEI begins like one here that was a {1}.',
        'Its IMEI begins like {0} here that were a {1}.',
        phone.name,
      ),
    };
  }
  const phone = phoneOf(context, model);
  if (seen && seen.family !== phone.family.id) {
    const other = packText(context.knowledge.families.get(seen.family)?.name ?? seen.family);
    return {
      phone,
      learnt: counted(
        seen.jobs,
        'Look again: a phone whose IMEI begins like this was “{1}” here.',
        'Look again: {0} phones whose IMEI begins like this were “{1}” here.',
        other,
      ),
    };
  }
  return { phone, learnt: null };
}

/** How a phone came that was not bought. */
const notBoughtWords = {
  given: say`given`,
  left: say`left`,
  customer: say`brought by a customer`,
} as const;

/** Known damage is kept by a trace alone. */
function traceChoice(job: JobRecord, texts: Readonly<Record<string, string>>): DraftChoice[] {
  if (!texts.damage) return [];
  const options = { damage: texts.damage, job: String(job.number) };
  return [{ label: say`Find the fault`, invoke: { command: 'trace', action: 'start', options } }];
}

export const jobOpen = defineAction({
  summary: say`Take a phone in`,
  who: 'member',
  options: {
    model: optional(
      lookupOption({
        summary: say`The model, or a family; may be left out when its IMEI is known here`,
        example: 'Orrin K3',
        lookup: modelsAndFamilies,
      }),
    ),
    came: optional(choiceOption({ summary: say`How it came`, example: 'given', choices: cameWays })),
    price: optional(moneyOption({ summary: say`Price paid`, example: '20' })),
    condition: optional(choiceOption({ summary: say`How it looks`, example: 'fair', choices: conditions })),
    symptoms: optional(symptomsOption(say`What is wrong with it, in your own words`, 'dead, screen cracked')),
    imei: optional(imeiOption),
    denied: deniedOption,
    damage: damageOption,
    found: foundOption,
    words: wordsOption,
    ...answerOptions,
  },
  examples: [
    '/job open "Orrin K3" came:given symptoms:"dead, no charge"',
    '/job open "Vesper Loam" came:bought price:60 symptoms:"got wet" ownership:shown lock:free stolen:clear',
  ],

  data: z.union([jobData, readData]),
  refuses: ['missing-option'],
  run: ({ model, came = 'given', price, condition = 'fair', symptoms, imei, ...given }, context, texts) => {
    if (price && price.minor > 0 && came !== 'bought') {
      throw new Refusal({
        code: 'bad-option',
        problem: say`A phone that was ${notBoughtWords[came]} has no price.`,
        expected: say`came:bought, or no price`,
        option: 'price',
      });
    }
    if (symptoms && 'words' in symptoms) {
      const { model: _, ...others } = texts;
      const known = model || imei ? phoneAtIntake(context, model, imei?.tac).phone.family : null;
      const goal = { command: 'job', action: 'open', options: known ? texts : others };
      return readBack(context, { text: symptoms.words, goal, family: known });
    }
    const { phone, learnt } = phoneAtIntake(context, model, imei?.tac);
    const said = { denied: idsOf(given.denied), damage: idsOf(given.damage), found: given.found ?? [] };
    checkDamage(context, phone.family, said.damage);
    const { job, found } = openJob(context, {
      phone,
      came,
      price,
      grade: gradeOf(condition),
      symptoms: symptoms?.ids ?? [],
      imei,
      words: given.words,
      tell: true,
      ...said,
    });
    const entries = answersGiven(given, '');
    if (entries.length) context.store.jobs.add(job.number, entries, handOf(context));
    const opened = context.store.jobs.get(job.number) ?? job;
    const form =
      imei?.form === 'imeisv'
        ? [say`The last two of 16 digits are its software version; they were left out.`]
        : imei?.form === 'without-check-digit'
          ? [say`14 digits have no check digit; it is ${typed(imei.digits.slice(-1))}.`]
          : [];
    const look = lookOffer(context, opened);
    const drawn = jobReply(context, opened, {
      title: say`Job ${opened.number} is open: ${phone.name}`,
      blocks: [
        ...[learnt, ...form].flatMap((line) => (line ? [text(line)] : [])),
        ...onBack(
          ...willMeet(context, phone, found.belief.odds, found.state),
          intakeFacts(context, opened),
          moneyFacts(context, opened),
          ...look.blocks,
        ),
      ],
    });
    return { ...drawn, choices: [...traceChoice(opened, texts), ...drawn.choices, ...look.choices] };
  },
});
