import { fits } from '../../knowledge/features.ts';
import { packText, say } from '../../shared/language/say.ts';
import { eventsOfSymptoms } from '../../shared/phone/intake.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { lookupOption, manyOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { openJobMeant } from '../shared/find-job.ts';
import { symptomsNow } from '../shared/find-trace.ts';
import { jobs, modelsAndFamilies, symptoms as symptomLookup } from '../shared/lookups.ts';
import { phoneOf, phoneOfJob } from '../shared/phone.ts';
import { newlySaid } from '../shared/phone-state.ts';
import { traceData } from './reply.ts';
import { settled } from './settle.ts';

export const traceStart = defineAction({
  summary: say`Begin a trace from one or more symptoms`,
  who: 'member',
  options: {
    symptoms: optional(
      manyOption(
        lookupOption({
          summary: say`What is seen, separated by commas; without it, what its job says`,
          example: 'dead, got wet',
          lookup: symptomLookup,
        }),
      ),
    ),
    model: optional(
      lookupOption({ summary: say`The model, or a family`, example: 'Orrin K3', lookup: modelsAndFamilies }),
    ),
    job: optional(
      lookupOption({ summary: say`The job it is for, instead of the model`, example: '12', lookup: jobs }),
    ),
  },
  examples: [
    '/trace dead model:"Orrin K3"',
    '/trace "no charge, got wet" model:"Orrin K3"',
    '/trace start job:12',
  ],

  data: traceData,
  run: ({ symptoms, model, job: named }, context) => {
    const job = named ? openJobMeant(context, named) : null;
    const shows = [...new Set(symptoms?.map(({ id }) => id) ?? (job ? symptomsNow(context, job) : []))];
    if (!shows.length) {
      throw new Refusal({
        problem: say`What does it show?`,
        expected: say`a symptom (/help symptoms lists them); several, separated by commas`,
        option: 'symptoms',
      });
    }
    const phone = job ? phoneOfJob(context, job) : model && phoneOf(context, model);
    if (!phone) {
      throw new Refusal({
        problem: say`Which phone is it?`,
        expected: say`a model, a family or a job`,
        option: 'model',
      });
    }
    for (const id of shows) {
      const symptom = context.knowledge.symptoms.get(id);
      if (symptom && !fits(phone.family, symptom)) {
        throw new Refusal({
          problem: say`A ${packText(phone.family.name)} cannot show "${packText(symptom.name)}".`,
          expected: say`a symptom of this family`,
          option: 'symptoms',
        });
      }
    }
    const started = context.store.traces.start({
      family: phone.family.id,
      model: phone.model?.id ?? null,
      symptoms: shows,
      startedBy: actorOf(context),
      at: context.now,
    });
    if (job) {
      context.store.jobs.setTrace(job.number, started.number);
      context.store.jobs.add(job.number, [{ kind: 'trace', trace: started.number }], {
        by: actorOf(context),
        at: context.now,
      });
    }
    const said = newlySaid(context, started, shows);
    return settled(context, started.number, eventsOfSymptoms(context.knowledge, said));
  },
});
