/**
 * Measures the bot: `npm run bench` prints a table, `-- --json` one flat object of figure name to number. Times are of this
 * machine at this moment; nothing passes or fails by them.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import {
  type DecisionProblem,
  decisionProblemOf,
  type Evidence,
  planFor,
} from '../../shared/diagnosis/decision-problem.ts';
import { policyMeans } from '../../shared/diagnosis/leaves.ts';
import { plan } from '../../shared/diagnosis/plan.ts';
import type { Problem } from '../../shared/diagnosis/problem.ts';
import { economicsOf } from '../../shared/economics/economics.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { build } from '../../src/build.ts';
import {
  brier,
  byPack,
  learntOdds,
  reliability,
  shippedOdds,
  simulatedJobs,
} from '../diagnosis/simulated-jobs.ts';
import { testBot as traceDecisionOf } from '../test-bot.ts';
import { cautionLines } from './caution-lines.ts';
import { walkPairs } from './danger.ts';
import { discordFigures } from './discord.ts';
import { secretGrowth } from './growth.ts';
import { marketFigures } from './market.ts';
import { matrixFigures } from './matrix.ts';
import { encryptedFigures } from './matrix-encrypted.ts';
import { startFigures } from './start.ts';
import { yearTimes } from './year.ts';

const figures: Record<string, number> = {};
const now = new Date('2026-03-02T09:00:00Z');
const quantile = (values: number[], p: number): number =>
  values.sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(p * values.length))] ?? Number.NaN;
const milliseconds = (work: () => void): number => {
  const from = process.hrtime.bigint();
  work();
  return Number(process.hrtime.bigint() - from) / 1e6;
};
const keep = (name: string, times: number[]) => {
  figures[`${name}.p50ms`] = round(quantile(times, 0.5));
  figures[`${name}.p99ms`] = round(quantile(times, 0.99));
};
const round = (value: number) => Math.round(value * 1000) / 1000;

const knowledge = loadKnowledge();
const families = [...knowledge.families.values()];

/** Walks a trace with the likeliest answer to each check, and gives the case at every step. */
function* walk(
  family: (typeof families)[number],
  symptom: string,
): Generator<{ bench: DecisionProblem; first: boolean; ms: number }> {
  const economics = economicsOf({
    knowledge,
    family,
    settings: defaultSettings,
    sightings: [],
    parts: [],
    grade: 0,
    value: 180,
    now,
  });
  const evidence: Evidence[] = [];
  for (let step = 0; step < 8; step += 1) {
    let bench: DecisionProblem | null = null;
    let found: ReturnType<typeof plan> | undefined;
    const ms = milliseconds(() => {
      bench = decisionProblemOf({
        knowledge,
        family,
        symptoms: [symptom],
        evidence,
        state: phoneStateOf(knowledge, [symptom]),
        economics,
      });
      if (bench) found = planFor(bench as DecisionProblem);
    });
    if (!bench || !found) return;
    const here: DecisionProblem = bench;
    if (here.state.danger !== 'none') return;
    yield { bench: here, first: step === 0, ms };
    const action = found.action;
    if (action.kind === 'stop') return;
    if (action.kind === 'remedy') {
      evidence.push({ kind: 'failed', id: action.id });
      continue;
    }
    const check = here.problem.checks.find(({ id }) => id === action.id);
    const chances = check?.outcomes.map((_, o) =>
      here.problem.faults.reduce((sum, { prior }, f) => sum + prior * (check.given[f]?.[o] ?? 0), 0),
    );
    const outcome = check?.outcomes[chances?.indexOf(Math.max(...chances)) ?? 0];
    if (!outcome) return;
    evidence.push({ kind: 'check', id: action.id, outcome });
  }
}

function traceSteps(): DecisionProblem[] {
  const first: number[] = [];
  const next: number[] = [];
  const cases: DecisionProblem[] = [];
  const rounds = families.filter((_, i) => i % 4 === 0);
  const pairs = [...knowledge.symptoms.values()].flatMap((symptom) =>
    rounds.filter((family) => fits(family, symptom)).map((family) => [family, symptom.id] as const),
  );
  // Warmed up first: a bot runs for weeks.
  for (const [family, symptom] of pairs.slice(0, 12)) for (const _ of walk(family, symptom));
  for (const [family, symptom] of pairs) {
    for (const { bench, first: isFirst, ms } of walk(family, symptom)) {
      (isFirst ? first : next).push(ms);
      cases.push(bench);
    }
  }
  keep('trace.first', first);
  keep('trace.next', next);
  keep('trace.step', [...first, ...next]);
  figures['trace.step.count'] = first.length + next.length;
  return cases;
}

const EVERY = 25;
const LONG = 1500;

/** Gain over the best immediate stop, so that a share means something where the net is near nothing. */
function shares(cases: readonly DecisionProblem[]): void {
  const stopNow = (problem: Problem) =>
    Math.max(
      ...problem.stops.map((stop) =>
        problem.faults.reduce((sum, { prior }, f) => sum + prior * (stop.byFault[f] ?? 0), 0),
      ),
    );
  let optimum = 0;
  let reached = 0;
  let worst = 1;
  let computed = 0;
  let tried = 0;
  let proved = 0;
  let known = 0;
  let knownReached = 0;
  for (const [index, one] of cases.entries()) {
    const { problem } = one;
    const found = planFor(one);
    if (found.exact) proved += 1;
    // Each case is proved or not with a budget many times the bot's own; a sample keeps the bench short.
    if (index % EVERY) continue;
    const long = found.exact ? found : plan(problem, { expansions: LONG });
    tried += 1;
    known += long.value;
    knownReached += found.value;
    if (!long.exact || long.value <= 0) continue;
    const best = long.value;
    computed += 1;
    const net = policyMeans(problem, found.policy).net;
    optimum += best;
    reached += net;
    const gain = best - stopNow(problem);
    if (gain > 0.5) worst = Math.min(worst, (net - stopNow(problem)) / gain);
  }
  figures['trace.optimum.computed'] = computed;
  figures['trace.optimum.of'] = tried;
  figures['trace.optimum.share'] = round(reached / optimum);
  figures['trace.optimum.worstGainShare'] = round(worst);
  figures['trace.proved.share'] = round(proved / cases.length);
  // Against a search with a budget many times the bot's own, proved or not.
  figures['trace.bestKnown.share'] = round(knownReached / known);
}

function commandTimes(): void {
  const bench = traceDecisionOf();
  const say = (line: string) => bench.say(line, { role: 'steward' });
  say('/family name model:"Orrin K3" as:glued-front-home-sensor launched:2017-09 new-price:829');
  for (let i = 0; i < 12; i += 1)
    say(`/prices add "Orrin K3" price:${150 + i} seen:2026-0${1 + (i % 2)}-1${i % 9}`);
  const time = (name: string, line: (i: number) => string) => {
    say(line(0));
    keep(
      name,
      Array.from({ length: 60 }, (_, i) => milliseconds(() => say(line(i)))),
    );
  };
  time('worth', (i) => `/worth "Orrin K3" price:${40 + i} symptoms:dead`);
  time('worth.rough', (i) => `/worth "Orrin K3" price:${40 + i}`);
  time('paired', () => '/paired "Orrin K3" component:battery');
  time('paired.table', () => '/paired "Orrin K3"');
  time('caution', () => '/caution heat');
  time('family', () => '/family list');
  time('refusal', () => '/worth "Orin K4" price:60');
}

/** Start to prompt, and the memory of it: a whole process that opens a store, loads the pack, answers and ends. */
function starting(): void {
  const root = join(fileURLToPath(import.meta.url), '../../..');
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-bench-'));
  const report = 'process.on("exit",()=>process.stderr.write("rss="+process.resourceUsage().maxRSS))';
  const run = (...lines: string[]): { seconds: number; memory: number } => {
    const from = process.hrtime.bigint();
    const { stderr, status } = spawnSync(
      process.execPath,
      [
        '--import',
        `data:text/javascript,${report}`,
        'src/thirdhand.cjs',
        '--data',
        folder,
        '--demo',
        ...lines.flatMap((line) => ['--run', line]),
      ],
      { cwd: root, encoding: 'utf8' },
    );
    if (status !== 0) throw new Error(`the bot ended with ${status}: ${stderr}`);
    const memory = Number(/rss=(\d+)/.exec(stderr)?.[1]) / 1024;
    return { seconds: Number(process.hrtime.bigint() - from) / 1e9, memory };
  };
  try {
    run('/setup');
    const starts = Array.from({ length: 9 }, () => run('/setup').seconds);
    figures['start.s'] = round(quantile(starts, 0.5));
    figures['memory.mb'] = round(run('/setup').memory);
    figures['memory.afterWork.mb'] = round(
      run(
        '/trace dead model:"Orrin K3"',
        '/worth "Vesper Loam" price:60',
        '/trace "got wet" model:"Halden Fold"',
      ).memory,
    );
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** A year of 2,000 jobs, 20,000 prices and 40 people: what a command takes in it, and beside a nearly empty store. */
function year(): void {
  for (const [name, { full, empty }] of Object.entries(yearTimes(knowledge, now))) {
    keep(`year.${name}`, full);
    figures[`year.${name}.p50.ratio`] = round(quantile(full, 0.5) / quantile(empty, 0.5));
  }
}

/** Learning on simulated jobs with known truth: Brier score beside the unlearnt pack, and the reliability table. */
function learning(): void {
  const { closed, later } = simulatedJobs(1000, 3000);
  const unlearnt = brier(later, byPack);
  for (const n of [100, 300, 1000])
    figures[`learn.brier.${n}jobs.ratio`] = round(
      brier(
        later,
        learntOdds(closed.slice(0, n), () => true),
      ) / unlearnt,
    );
  figures['learn.shipped.brier.ratio'] = round(brier(later, shippedOdds(closed)) / unlearnt);
  const half = learntOdds(closed, (index) => index % 2 === 0);
  figures['learn.brier.1000jobs.halfConfirmed.ratio'] = round(brier(later, half) / unlearnt);
  const learnt = learntOdds(closed, () => true);
  for (const { n, said, was } of reliability(later, learnt)) {
    if (n < 25) continue;
    const name = `learn.reliability.${Math.floor(said * 10) * 10}pc`;
    figures[`${name}.n`] = n;
    figures[`${name}.said`] = round(said);
    figures[`${name}.was`] = round(was);
  }
}

const cases = traceSteps();
shares(cases);
commandTimes();
year();
figures['secret.growth.ratio'] = round(secretGrowth());
learning();
figures['caution.lines.ratio'] = round(cautionLines().ratio);
const walked = walkPairs(1);
figures['danger.states'] = walked.states;
figures['danger.violations'] = walked.violations.length;
await build({ ifStale: true });
Object.assign(figures, marketFigures());
starting();
Object.assign(figures, startFigures());
// Where there is no Python or no PyPI these are left out, with a word on stderr.
Object.assign(figures, await matrixFigures());
Object.assign(figures, await encryptedFigures());
Object.assign(figures, await discordFigures());
const checked = z.record(z.string(), z.number()).parse(figures);
if (process.argv.includes('--json')) console.log(JSON.stringify(checked));
else
  for (const [name, value] of Object.entries(checked))
    console.log(`${name.padEnd(32)}${String(value).padStart(12)}`);
