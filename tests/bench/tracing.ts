/**
 * A trace walked with the likeliest answer to each step, over many families and symptoms: how long a step takes, how good its
 * plan is against a search of a hundred times the budget, whether what it states is what following it brings, and what the
 * rules of the bench cost.
 */
import { fits } from '../../knowledge/features.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family } from '../../knowledge/schema.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import { type BenchEvent, beliefOf } from '../../shared/diagnosis/sets/bench-belief.ts';
import { planOf } from '../../shared/diagnosis/sets/kept-plans.ts';
import { nextSetStep } from '../../shared/diagnosis/sets/next-set-step.ts';
import { type SetCase, setCaseOf } from '../../shared/diagnosis/sets/set-case.ts';
import type { SetCaseQuestion } from '../../shared/diagnosis/sets/set-case-question.ts';
import { planSets, type SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import { economicsOf } from '../../shared/economics/economics.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { replanned } from './replanned.ts';

const now = new Date('2026-03-02T09:00:00Z');
const DEEPEST = 8;

const milliseconds = (work: () => void): number => {
  const from = process.hrtime.bigint();
  work();
  return Number(process.hrtime.bigint() - from) / 1e6;
};

export interface Walked {
  question: SetCaseQuestion;
  found: SetCase;
  plan: SetPlan;
  first: boolean;
  /** Of belief, problem and plan together; of belief alone. */
  ms: number;
  beliefMs: number;
}

/** Walks a trace with the likeliest answer to each step; a remedy changes nothing. */
export function* walkTrace(
  knowledge: Knowledge,
  family: Family,
  symptoms: readonly string[],
): Generator<Walked> {
  const economics = economicsOf({
    ...{ knowledge, family, settings: defaultSettings, sightings: [], parts: [], grade: 0, value: 180, now },
  });
  const events: BenchEvent[] = symptoms.map((id) => ({ kind: 'shown', id }));
  const state = phoneStateOf(knowledge, symptoms);
  for (let step = 0; step < DEEPEST; step++) {
    const question: SetCaseQuestion = { knowledge, family, events: [...events], state, economics };
    let found: SetCase | null = null;
    let plan: SetPlan | undefined;
    const ms = milliseconds(() => {
      found = setCaseOf(question);
      if (found) plan = planOf(found);
    });
    const beliefMs = milliseconds(() => beliefOf(question));
    if (!found || !plan) return;
    const here: SetCase = found;
    if (here.state.danger !== 'none') return;
    yield { question, found: here, plan, first: step === 0, ms, beliefMs };
    const { action } = nextSetStep(question, here);
    if (action.kind === 'end') return;
    if (action.kind === 'remedy') {
      events.push({ kind: 'remedy', id: action.id, gone: [], left: [...here.belief.open] });
      continue;
    }
    const spec = here.problem.checks.find(({ id }) => id === action.id);
    const given = spec?.forms.at(-1)?.given ?? [];
    const chances = given.map((row) =>
      here.problem.hypotheses.reduce((sum, { weight }, h) => sum + weight * (row[h] ?? 0), 0),
    );
    const outcome = spec
      ? spec.outcomes[chances.indexOf(Math.max(...chances))]
      : knowledge.checks.get(action.id)?.outcomes[0]?.id;
    if (outcome === undefined) return;
    events.push({ kind: 'check', id: action.id, outcome });
  }
}

/** Every fourth family with each of its symptoms, and with one that something else is wrong besides. */
export function walkedCases(knowledge: Knowledge): Walked[] {
  const families = [...knowledge.families.values()].filter((_, i) => i % 4 === 0);
  const all = [...knowledge.symptoms.values()].flatMap((symptom, at) =>
    families
      .filter((family) => fits(family, symptom))
      .map((family) => ({ family, symptoms: at % 3 === 0 ? [symptom.id, 'cracked-glass'] : [symptom.id] })),
  );
  // Warmed up first: a bot runs for weeks.
  for (const { family, symptoms } of all.slice(0, 8)) for (const _ of walkTrace(knowledge, family, symptoms));
  return all.flatMap(({ family, symptoms }) => [...walkTrace(knowledge, family, symptoms)]);
}

const sum = (values: readonly number[]) => values.reduce((all, one) => all + one, 0);

/** @param every one case of so many is looked at closely: each takes a hundred budgets. */
export function planFigures(cases: readonly Walked[], every: number): Record<string, number> {
  const firsts = cases.filter(({ first }) => first);
  const close = cases.filter((_, at) => at % every === 0);
  const long = close.map(({ found, plan }) =>
    plan.exact ? plan : planSets(found.problem, { expansions: 40_000, steps: 120_000 }),
  );
  const stated = firsts
    .filter((_, at) => at % Math.max(1, Math.round(every / 8)) === 0)
    .flatMap(({ question }) => replanned(question, planOf) ?? []);
  const rules = cases.map(({ question, found }) => nextSetStep(question, found).price);
  return {
    'trace.bestKnown.of': close.length,
    'trace.bestKnown.share': sum(close.map(({ plan }) => plan.value)) / sum(long.map(({ value }) => value)),
    'trace.stated.of': stated.length,
    'trace.stated.share': sum(stated.map((one) => one.stated)) / sum(stated.map((one) => one.realised)),
    'trace.proved.share': cases.filter(({ plan }) => plan.exact).length / Math.max(1, cases.length),
    // What the rules take at a step, beside what the plan brings there.
    'first.rules.cost.share': sum(rules) / sum(cases.map(({ plan }) => plan.value)),
  };
}
