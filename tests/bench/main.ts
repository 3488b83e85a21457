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
import { loadKnowledge } from '../../knowledge/load.ts';
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
import { aheadFigures } from './ahead.ts';
import { cautionLines } from './caution-lines.ts';
import { walkPairs } from './danger.ts';
import { discordFigures } from './discord.ts';
import { homeFigures } from './discord-home.ts';
import { secretGrowth } from './growth.ts';
import { lotFigures } from './lot.ts';
import { marketFigures } from './market.ts';
import { matrixFigures } from './matrix.ts';
import { encryptedFigures } from './matrix-encrypted.ts';
import { monotone } from './monotone.ts';
import { phoneFigures, walkPhones } from './phones.ts';
import { startFigures } from './start.ts';
import { planFigures, type Walked, walkedCases } from './tracing.ts';
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

function tracing(): void {
  const cases = walkedCases(knowledge);
  const times = (wanted: (one: Walked) => boolean) => cases.filter(wanted).map(({ ms }) => ms);
  keep(
    'trace.first',
    times(({ first }) => first),
  );
  keep(
    'trace.next',
    times(({ first }) => !first),
  );
  keep(
    'trace.step',
    times(() => true),
  );
  keep(
    'several.sets',
    cases.map(({ beliefMs }) => beliefMs),
  );
  figures['trace.step.count'] = cases.length;
  for (const [name, value] of Object.entries(planFigures(cases, CLOSE))) figures[name] = round(value);
}

/** One case of so many is planned again with a hundred times the budget. */
const CLOSE = 40;
/** One pair of so many is looked at here; `tests/bench/monotone.ts` looks at all. */
const EVERY_PAIR = 151;
const PHONES = 150;

function worths(): void {
  const { pairs, violations, explained } = monotone(knowledge, families, (pair) => pair % EVERY_PAIR === 0);
  figures['worth.monotone.pairs'] = pairs;
  figures['worth.monotone.violations'] = violations.length;
  figures['worth.monotone.explained'] = explained.length;
  for (const [name, value] of Object.entries(phoneFigures(walkPhones(knowledge, PHONES))))
    figures[name] = round(value);
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
  for (const [name, every] of [
    ['tenth', 10],
    ['third', 3],
  ] as const)
    figures[`learn.shipped.${name}Told.brier.ratio`] = round(
      brier(
        later,
        shippedOdds(closed, (index) => index % every === 0),
      ) / unlearnt,
    );
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

tracing();
worths();
commandTimes();
year();
for (const [name, value] of Object.entries(aheadFigures())) figures[name] = round(value);
figures['secret.growth.ratio'] = round(secretGrowth());
learning();
figures['caution.lines.ratio'] = round(cautionLines().ratio);
const walked = walkPairs(1);
figures['danger.states'] = walked.states;
figures['danger.violations'] = walked.violations.length;
await build({ ifStale: true });
Object.assign(figures, marketFigures());
Object.assign(figures, lotFigures(knowledge));
starting();
Object.assign(figures, startFigures());
// Where there is no Python or no PyPI these are left out, with a word on stderr.
Object.assign(figures, await matrixFigures());
Object.assign(figures, await encryptedFigures());
Object.assign(figures, await discordFigures());
Object.assign(figures, await homeFigures());
const checked = z.record(z.string(), z.number()).parse(figures);
if (process.argv.includes('--json')) console.log(JSON.stringify(checked));
else
  for (const [name, value] of Object.entries(checked))
    console.log(`${name.padEnd(32)}${String(value).padStart(12)}`);
