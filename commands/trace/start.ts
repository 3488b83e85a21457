import { z } from 'zod';
import { fits } from '../../knowledge/features.ts';
import { cameWays } from '../../shared/jobs/job.ts';
import { packText, say } from '../../shared/language/say.ts';
import { eventsOfSymptoms } from '../../shared/phone/intake.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { choiceOption, lookupOption, moneyOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { openJobMeant } from '../shared/find-job.ts';
import { symptomsNow } from '../shared/find-trace.ts';
import { jobs, modelsAndFamilies } from '../shared/lookups.ts';
import { openJob } from '../shared/open-job.ts';
import { gradeOf, type Phone, phoneOf, phoneOfJob } from '../shared/phone.ts';
import { newlySaid } from '../shared/phone-state.ts';
import { readBack, readData } from '../shared/read-back.ts';
import { checkDamage, eventsOfFound, type SaidBesides } from '../shared/said-besides.ts';
import {
  damageOption,
  deniedOption,
  foundOption,
  foundThatFit,
  idsOf,
  symptomsOption,
  wordsOption,
} from '../shared/words-options.ts';
import { settled } from './settle.ts';
import { traceData } from './trace-data.ts';

/** What was said besides the symptoms, as the first steps of the trace. */
function writeDown(context: Context, trace: number, { family }: Phone, said: SaidBesides, words = ''): void {
  const { store, now, knowledge } = context;
  const step = { by: actorOf(context), at: now };
  if (words) store.traces.add(trace, { ...step, kind: 'words', ref: 'words', outcome: null, reading: words });
  for (const id of said.denied)
    store.traces.add(trace, { ...step, kind: 'denied', ref: id, outcome: null, reading: null });
  for (const id of said.damage)
    store.traces.add(trace, { ...step, kind: 'damage', ref: id, outcome: null, reading: null });
  for (const { check, outcome, reading } of foundThatFit(knowledge, family, said.found))
    store.traces.add(trace, { ...step, kind: 'check', ref: check, outcome, reading });
}

function checkSymptoms(context: Context, { family }: Phone, ids: readonly string[]): void {
  for (const id of ids) {
    const symptom = context.knowledge.symptoms.get(id);
    if (symptom && !fits(family, symptom)) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`A ${packText(family.name)} cannot show "${packText(symptom.name)}".`,
        expected: say`a symptom of this family`,
        option: 'symptoms',
      });
    }
  }
}

export const traceStart = defineAction({
  summary: say`Begin a trace from one or more symptoms`,
  who: 'member',
  options: {
    symptoms: optional(
      symptomsOption(say`What is wrong, in your own words; without it, what its job says`, 'dead, got wet'),
    ),
    model: optional(
      lookupOption({ summary: say`The model, or a family`, example: 'Orrin K3', lookup: modelsAndFamilies }),
    ),
    job: optional(
      lookupOption({ summary: say`The job it is for, instead of the model`, example: '12', lookup: jobs }),
    ),
    denied: deniedOption,
    damage: damageOption,
    found: foundOption,
    came: optional(
      choiceOption({
        summary: say`How it came: a job is opened for it`,
        example: 'given',
        choices: cameWays,
      }),
    ),
    price: optional(moneyOption({ summary: say`Price paid`, example: '20' })),
    words: wordsOption,
  },
  examples: [
    '/trace dead model:"Orrin K3"',
    '/trace "no charge, got wet" model:"Orrin K3"',
    '/trace "won’t turn on, 0 A, touch ok" model:"Orrin K3"',
    '/trace start job:12',
  ],

  data: z.union([traceData, readData]),
  refuses: ['missing-option', 'wrong-state'],
  run: ({ symptoms, model, job: named, came, price, words, ...given }, context, texts) => {
    const job = named ? openJobMeant(context, named) : null;
    const phone = job ? phoneOfJob(context, job) : model && phoneOf(context, model);
    if (symptoms && 'words' in symptoms) {
      const goal = { command: 'trace', action: 'start', options: texts };
      return readBack(context, { text: symptoms.words, goal, family: phone?.family ?? null });
    }
    const shows = [...new Set(symptoms?.ids ?? (job ? symptomsNow(context, job) : []))];
    const said = { denied: idsOf(given.denied), damage: idsOf(given.damage), found: given.found ?? [] };
    if (!shows.length && !said.damage.length) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`What does it show?`,
        expected: say`what is wrong with it, in your own words`,
        option: 'symptoms',
      });
    }
    if (!phone) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Which phone is it?`,
        expected: say`a model, a family or a job`,
        option: 'model',
      });
    }
    checkSymptoms(context, phone, shows);
    checkDamage(context, phone.family, said.damage);
    const own =
      job ??
      (came
        ? openJob(context, {
            phone,
            came,
            price: came === 'bought' ? price : undefined,
            grade: gradeOf('fair'),
            symptoms: shows,
            words,
            tell: false,
            ...said,
          }).job
        : null);
    const started = context.store.traces.start({
      family: phone.family.id,
      model: phone.model?.id ?? null,
      symptoms: shows,
      startedBy: actorOf(context),
      at: context.now,
    });
    if (own) {
      context.store.jobs.setTrace(own.number, started.number);
      context.store.jobs.add(own.number, [{ kind: 'trace', trace: started.number }], {
        by: actorOf(context),
        at: context.now,
      });
    }
    writeDown(context, started.number, phone, said, own ? '' : words);
    const fresh = newlySaid(context, started, shows);
    return settled(context, started.number, [
      ...eventsOfSymptoms(context.knowledge, fresh),
      ...eventsOfFound(context, phone.family, said.found),
    ]);
  },
});
