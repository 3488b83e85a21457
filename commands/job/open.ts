/** `/job open`: a phone comes in. */

import { cameWays } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, packText, say, typed } from '../../shared/language/say.ts';
import { fromMajor, toMajor } from '../../shared/money/money.ts';
import { eventsOfSymptoms } from '../../shared/phone/intake.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf, type Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { choiceOption, lookupOption, manyOption, moneyOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { text } from '../framework/reply.ts';
import { appraisePhone } from '../shared/appraise-phone.ts';
import { modelsAndFamilies, symptoms as symptomLookup } from '../shared/lookups.ts';
import { conditions, gradeOf, type Phone, phoneOf } from '../shared/phone.ts';
import { addPhoneEvents, subjectOfJob } from '../shared/phone-state.ts';
import { willMeet } from '../shared/will-meet.ts';
import { answerOptions, answersGiven } from './answer.ts';
import { lookOffer } from './look.ts';
import { handOf, imeiOption } from './options.ts';
import { intakeFacts, jobData, jobReply, moneyFacts } from './reply.ts';

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
    symptoms: optional(
      manyOption(
        lookupOption({
          summary: say`What is seen, separated by commas`,
          example: 'dead',
          lookup: symptomLookup,
        }),
      ),
    ),
    imei: optional(imeiOption),
    ...answerOptions,
  },
  examples: [
    '/job open "Orrin K3" came:given symptoms:"dead, no charge"',
    '/job open "Vesper Loam" came:bought price:60 symptoms:"got wet" ownership:shown lock:free stolen:clear',
  ],

  data: jobData,
  run: ({ model, came = 'given', price, condition = 'fair', symptoms = [], imei, ...given }, context) => {
    const { knowledge, store, now, collective } = context;
    const { currency } = collective.settings;
    if (price && price.minor > 0 && came !== 'bought') {
      throw new Refusal({
        problem: say`A phone that was ${notBoughtWords[came]} has no price.`,
        expected: say`came:bought, or no price`,
        option: 'price',
      });
    }
    const { phone, learnt } = phoneAtIntake(context, model, imei?.tac);
    const ids = [...new Set(symptoms.map(({ id }) => id))];
    const paid = price ?? fromMajor(0, currency);
    const grade = gradeOf(condition);
    const { result, found } = appraisePhone(context, phone, { price: toMajor(paid), grade, symptoms: ids });
    const { best } = result;
    const amount = (value: number | undefined) => fromMajor(value ?? 0, currency);
    const job = store.jobs.open({
      model: phone.model?.id ?? null,
      family: phone.family.id,
      came,
      price: paid,
      grade,
      symptoms: ids,
      imei: imei?.digits ?? null,
      promise: {
        verdict: result.verdict,
        mean: amount(best?.mean),
        low: amount(best?.low),
        high: amount(best?.high),
        minutes: best?.minutes ?? 0,
        chanceRestored: best?.restored ?? 0,
        odds: Object.fromEntries(
          found.belief.odds.flatMap(({ fault, share }) => (share >= 0.001 ? [[fault.id, share]] : [])),
        ),
      },
      openedBy: actorOf(context),
      at: now,
    });
    if (imei) store.tacs.learn(imei.tac, phone.family.id, phone.model?.id ?? null, now);
    const entries = answersGiven(given, '');
    if (entries.length) store.jobs.add(job.number, entries, handOf(context));
    addPhoneEvents(context, subjectOfJob(job), eventsOfSymptoms(knowledge, ids));
    const opened = store.jobs.get(job.number) ?? job;
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
        ...willMeet(context, phone, found.belief.odds, found.state),
        ...[learnt, ...form].flatMap((line) => (line ? [text(line)] : [])),
        intakeFacts(context, opened),
        moneyFacts(context, opened),
        ...look.blocks,
      ],
    });
    return { ...drawn, choices: [...drawn.choices, ...look.choices] };
  },
});
