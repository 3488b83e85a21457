import type { Check, Remedy } from '../knowledge/schema.ts';
import { fits, planFor } from '../shared/diagnosis/case.ts';
import { readAnswer } from '../shared/diagnosis/reading.ts';
import { whyNoWork } from '../shared/jobs/rules.ts';
import { counted, say } from '../shared/language/say.ts';
import type { TraceRecord } from '../shared/store/index.ts';
import { phoneOf, traceMeant } from './bench.ts';
import { defineAction, defineCommand } from './command.ts';
import type { Context } from './context.ts';
import { openJobMeant } from './job/options.ts';
import { phoneOfJob } from './job/reply.ts';
import { jobs, modelsAndFamilies, type Named, symptoms as symptomLookup, traceSteps } from './lookup.ts';
import { integerOption, lookupOption, manyOption, optional, textOption } from './option.ts';
import { Refusal } from './refusal.ts';
import { reply, table, text } from './reply.ts';
import { answer, benchOf, hazardsOf } from './trace-reply.ts';

const traceOption = optional(
  integerOption({
    summary: 'The number of the trace; without it, your newest open one',
    example: '3',
    min: 1,
    max: 1e9,
  }),
);

const openTrace = (context: Context, number: number | undefined): TraceRecord => {
  const trace = traceMeant(context, number);
  if (trace.state === 'open') return trace;
  throw new Refusal({
    problem: say`Trace ${trace.number} has ended.`,
    expected: say`an open trace; /trace list shows them`,
    example: `/trace show ${trace.number}`,
  });
};

const stepOption = optional(
  lookupOption({
    summary: 'The check or remedy it answers; without it, the one asked',
    example: 'Current at the charger',
    lookup: traceSteps,
  }),
);

/** The step an answer is for; refuses when the trace has moved on to another. */
function askedStep(context: Context, trace: TraceRecord, given: Named | undefined): Check | Remedy {
  const bench = benchOf(context, trace);
  if (bench.found.cell === 'to-isolate') {
    throw new Refusal({
      problem: say`The cell comes first: nothing is checked until it is isolated.`,
      expected: say`to say that it is isolated`,
      example: `/trace isolated trace:${trace.number}`,
    });
  }
  const found = planFor(bench.found);
  const asked =
    found.action.kind === 'stop'
      ? found.alternatives.find((one) => one.action.kind !== 'stop')?.action.id
      : found.action.id;
  const id = given?.id ?? asked;
  const step =
    id === undefined ? undefined : (context.knowledge.checks.get(id) ?? context.knowledge.remedies.get(id));
  if (!step || !fits(bench.phone.family, step)) {
    throw new Refusal({
      problem: say`This trace has no step "${id ?? ''}".`,
      expected: say`the step that was asked`,
      option: 'step',
      example: `/trace show ${trace.number}`,
    });
  }
  const barred = hazardsOf(bench, step).filter((hazard) => bench.found.barred.has(hazard));
  if (barred.length) {
    throw new Refusal({
      problem: say`${step.name} is barred: the cell of this phone may be dangerous.`,
      expected: say`a step that does not charge, press, pry or heat`,
      option: 'step',
    });
  }
  const job = step.access === 'board' ? context.store.jobs.ofTrace(trace.number) : null;
  const blocked = job && whyNoWork(job);
  if (job && blocked) {
    throw new Refusal({
      problem: say`${blocked.problem}. Its board is not worked on.`,
      expected: blocked.expected,
      example: `/job show job:${job.number}`,
    });
  }
  if (trace.steps.some((one) => !one.undone && one.ref === step.id)) {
    throw new Refusal({
      problem: say`${step.name} is answered already.`,
      expected: say`the step asked now, or go back`,
      example: `/trace show ${trace.number}`,
      option: 'step',
    });
  }
  return step;
}

const isCheck = (step: Check | Remedy): step is Check => 'outcomes' in step;

export const trace = defineCommand({
  name: 'trace',
  summary: 'Walk from symptoms to the fault, one check at a time',
  main: 'start',
  actions: {
    start: defineAction({
      summary: 'Begin a trace from one or more symptoms',
      who: 'member',
      options: {
        symptoms: optional(
          manyOption(
            lookupOption({
              summary: 'What is seen, separated by commas; without it, what its job says',
              example: 'dead, got wet',
              lookup: symptomLookup,
            }),
          ),
        ),
        model: optional(
          lookupOption({ summary: 'The model, or a family', example: 'Orrin K3', lookup: modelsAndFamilies }),
        ),
        job: optional(
          lookupOption({ summary: 'The job it is for, instead of the model', example: '12', lookup: jobs }),
        ),
      },
      examples: [
        '/trace dead model:"Orrin K3"',
        '/trace "no charge, got wet" model:"Orrin K3"',
        '/trace start job:12',
      ],
      run: ({ symptoms, model, job: named }, context) => {
        const job = named ? openJobMeant(context, named) : null;
        const shows = [...new Set(symptoms?.map(({ id }) => id) ?? job?.symptoms ?? [])];
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
              problem: say`A ${phone.family.name} cannot show "${symptom.name}".`,
              expected: say`a symptom of this family`,
              option: 'symptoms',
            });
          }
        }
        const started = context.store.traces.start({
          family: phone.family.id,
          model: phone.model?.id ?? null,
          symptoms: shows,
          startedBy: context.person.name,
          at: context.now,
        });
        if (job) {
          context.store.jobs.setTrace(job.number, started.number);
          context.store.jobs.add(job.number, [{ kind: 'trace', trace: started.number }], {
            by: context.person.name,
            byKey: context.person.key,
            at: context.now,
          });
        }
        return answer(context, started);
      },
    }),
    answer: defineAction({
      summary: 'Answer the check that was asked: an outcome, its words, or a reading',
      who: 'member',
      options: {
        says: textOption({ summary: 'What you saw or read', example: '0.00 A', max: 200 }),
        trace: traceOption,
        step: stepOption,
      },
      examples: ['/trace answer "0.00 A"', '/trace answer works'],
      run: ({ says, trace: number, step: given }, context) => {
        const open = openTrace(context, number);
        const step = askedStep(context, open, given);
        const record = { ref: step.id, by: context.person.name, at: context.now };
        if (isCheck(step)) {
          const read = readAnswer(step, says);
          if (!read.ok)
            throw new Refusal({ problem: `${read.problem}.`, expected: read.expected, option: 'says' });
          return answer(
            context,
            context.store.traces.add(open.number, {
              ...record,
              kind: 'check',
              outcome: read.outcome.id,
              reading: read.reading,
            }),
          );
        }
        const word = says.trim().toLowerCase();
        if (word !== 'works' && word !== 'failed') {
          throw new Refusal({
            problem: say`"${says}" is no answer to ${step.name}.`,
            expected: say`works or failed`,
            option: 'says',
          });
        }
        const added = context.store.traces.add(open.number, {
          ...record,
          kind: 'remedy',
          outcome: word,
          reading: null,
        });
        return answer(context, word === 'works' ? context.store.traces.end(open.number) : added);
      },
    }),
    cannot: defineAction({
      summary: 'Say that you cannot do the step that was asked',
      who: 'member',
      options: { step: stepOption, trace: traceOption },
      examples: ['/trace cannot'],
      run: ({ step: given, trace: number }, context) => {
        const open = openTrace(context, number);
        const step = askedStep(context, open, given);
        return answer(
          context,
          context.store.traces.add(open.number, {
            kind: 'cannot',
            ref: step.id,
            outcome: null,
            reading: null,
            by: context.person.name,
            at: context.now,
          }),
        );
      },
    }),
    isolated: defineAction({
      summary: 'Confirm that a swollen or hot cell is isolated',
      who: 'member',
      options: { trace: traceOption },
      examples: ['/trace isolated'],
      run: ({ trace: number }, context) => {
        const open = openTrace(context, number);
        if (benchOf(context, open).found.cell !== 'to-isolate') {
          throw new Refusal({
            problem: say`This trace is not waiting for that.`,
            expected: say`the step that was asked`,
            example: `/trace show ${open.number}`,
          });
        }
        return answer(
          context,
          context.store.traces.add(open.number, {
            kind: 'confirm',
            ref: 'isolated',
            outcome: null,
            reading: null,
            by: context.person.name,
            at: context.now,
          }),
        );
      },
    }),
    back: defineAction({
      summary: 'Take the last answer back',
      who: 'member',
      options: { trace: traceOption },
      examples: ['/trace back'],
      run: ({ trace: number }, context) => {
        const open = openTrace(context, number);
        if (!open.steps.some((step) => !step.undone)) {
          throw new Refusal({
            problem: say`There is no answer to take back.`,
            expected: say`an answer first`,
            example: `/trace show ${open.number}`,
          });
        }
        return answer(context, context.store.traces.undoLast(open.number));
      },
    }),
    next: defineAction({
      summary: 'Show the best step left, even where stopping is worth more',
      options: { trace: traceOption },
      examples: ['/trace next'],
      run: ({ trace: number }, context) => answer(context, openTrace(context, number), true),
    }),
    stop: defineAction({
      summary: 'Stop the trace here',
      who: 'member',
      options: { trace: traceOption },
      examples: ['/trace stop'],
      run: ({ trace: number }, context) =>
        answer(context, context.store.traces.end(openTrace(context, number).number)),
    }),
    show: defineAction({
      summary: 'Show where a trace stands, and go on with it',
      options: { trace: traceOption },
      examples: ['/trace show 3'],
      run: ({ trace: number }, context) => answer(context, traceMeant(context, number)),
    }),
    list: defineAction({
      summary: 'List the open traces',
      options: {},
      examples: ['/trace list'],
      run: (_, context) => {
        const open = context.store.traces.listOpen();
        return reply({
          title: open.length
            ? counted(open.length, '{0} open trace', '{0} open traces')
            : say`No trace is open`,
          blocks: open.length
            ? [
                table(
                  [say`>No.`, say`Phone`, say`Symptoms`, say`Begun by`, '>Answers'],
                  open.map((one) => [
                    String(one.number),
                    (one.model === null ? null : context.store.models.get(one.model)?.name) ??
                      context.knowledge.families.get(one.family)?.name ??
                      one.family,
                    one.symptoms.map((id) => context.knowledge.symptoms.get(id)?.name ?? id).join(', '),
                    one.startedBy,
                    String(one.steps.filter((step) => !step.undone).length),
                  ]),
                ),
              ]
            : [text(say`Begin one: /trace dead model:"Orrin K3"`)],
          choices: open.slice(0, 9).map((one) => ({
            label: say`Go on with trace ${one.number}`,
            invoke: { command: 'trace', action: 'show', options: { trace: String(one.number) } },
          })),
          data: {
            traces: open.map(({ number, family, symptoms, startedBy }) => ({
              number,
              family,
              symptoms,
              startedBy,
            })),
          },
        });
      },
    }),
  },
});
