/**
 * What the bot bears: `npm run node tests/bench/load.ts [growth|sustained|all] [SECONDS] [COMMANDS A SECOND]`.
 * growth: 200 collectives with 50 jobs each beside 200 with 5,000 each, a million in all; what each command takes in the one
 * and the other, in turns, as a ratio. sustained: the running bot in a process of its own on the loopback Discord, 200
 * servers with 4 people each, so many commands a second; the first minute beside the last, and one noisy person beside
 * the others. Ratios and counts; nothing passes or fails by them.
 */

import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import Sqlite from 'better-sqlite3';
import { REST } from 'discord.js';
import { z } from 'zod';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { register } from '../../src/surfaces/discord/registering.ts';
import { actor } from '../actors.ts';
import { DEADLINE_MS, type Interaction } from '../discord/loopback/interactions.ts';
import type { Person } from '../discord/loopback/person.ts';
import { openLoopback } from '../discord/loopback/server.ts';
import { run, says } from '../kills/programs.ts';
import { testSealer } from '../sealer.ts';
import { everyday, PEOPLE_EACH, peopleOn } from './crowd.ts';
import { dayLines, fillYear } from './year.ts';

const COLLECTIVES = 200;
const ROUNDS = 80;
const REPORTS = 40;
/** Jobs a week, whatever the length of the history: what is asked about one week does not grow with it. */
const JOBS_A_WEEK = 20;
const PRICES = 2500;
const now = new Date('2026-03-02T09:00:00Z');
const quantile = (values: readonly number[], p: number): number =>
  [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(p * values.length))] ?? Number.NaN;
const show = (name: string, value: number): void =>
  console.log(`${name.padEnd(44)}${String(Math.round(value * 1000) / 1000).padStart(12)}`);

// --- growth -------------------------------------------------------------------------------------------------------------

const columnRow = z.array(z.object({ name: z.string() }));
/** Tables of a collective's records; what is sealed is bound to its place and cannot be copied. */
const copied = [
  'counters',
  'models',
  'people',
  'sightings',
  'jobs',
  'job_entries',
  'fault_counts',
  'family_jobs',
  'outcome_counts',
  'swaps',
  'swap_counts',
] as const;
/** Models are numbered over all collectives. */
const MODELS_EACH = 100;

/** Copies the first collective's records to all the others, in one transaction. */
function multiply(path: string, collectives: number): void {
  const file = new Sqlite(path);
  try {
    file.transaction(() => {
      for (const table of copied) {
        const columns = columnRow.parse(file.pragma(`table_info(${table})`)).map(({ name }) => name);
        const from = columns.map((name) => {
          if (name === 'collective') return ':to';
          const isModel = name === 'model' || (table === 'models' && name === 'id');
          return isModel ? `${name} + ${MODELS_EACH} * (:to - 1)` : name;
        });
        const copy = file.prepare(
          `INSERT INTO ${table} (${columns.join(', ')}) SELECT ${from.join(', ')} FROM ${table} WHERE collective = 1`,
        );
        for (let to = 2; to <= collectives; to += 1) copy.run({ to });
      }
    })();
  } finally {
    file.close();
  }
}

const moreLines: typeof dayLines = {
  'prices.all': () => ({ line: '/prices list' }),
  'trace.list': () => ({ line: '/trace list' }),
  'job.page': () => ({ line: '/job page job:20' }),
  'swap.report': (i) => ({
    line: `/swap report battery effect:notice of:"Orrin K3" grade:used saw:"time ${i}"`,
  }),
  'family.show': () => ({ line: '/family show "Orrin K3"' }),
  'note.search': () => ({ line: '/note search "flex again"', direct: true }),
  setup: () => ({ line: '/setup' }),
  help: () => ({ line: '/help worth' }),
};

function growth(perCollective: number): void {
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-load-'));
  const knowledge = loadKnowledge();
  const open = (name: string, jobs: number) => {
    const path = join(folder, name);
    const first = openDatabase(path, testSealer);
    for (let i = 0; i < COLLECTIVES; i += 1)
      first.collectives.create(`Shed ${i + 1}`, { zone: 'Australia/Sydney', region: 'AU' });
    const template = first.collectives.find('Shed 1');
    if (!template) throw new Error('no collective');
    const days = Math.max(14, (jobs / JOBS_A_WEEK) * 7);
    // Of prices the newest 120 of a model are weighed: both sides have more than that.
    const size = { jobs, sightings: Math.max(PRICES, jobs), members: 20, days, open: 12 };
    fillYear(first, template, knowledge, now, size);
    // A list shows as many reports in the one as in the other.
    for (let i = 0; i < REPORTS; i += 1)
      first.of(template).swaps.add({
        family: 'glued-front-home-sensor',
        model: null,
        component: 'battery',
        grade: 'used',
        board: 'another',
        effect: 'notice',
        saw: '',
        mended: '',
        job: null,
        by: actor('M1'),
        at: now,
      });
    first.close();
    const raw = new Sqlite(path);
    // What was tested in a closed job is not asked about again; without it the file stays small enough to be made.
    raw.exec(
      'DELETE FROM job_entries WHERE entry LIKE \'%"test"%\' AND job < (SELECT max(number) - 30 FROM jobs)',
    );
    raw.close();
    multiply(path, COLLECTIVES);
    const database = openDatabase(path, testSealer);
    let ids = 0;
    const dispatcher = createDispatcher({
      database,
      knowledge,
      commands,
      makeId: () => {
        ids += 1;
        return `${name}-${ids}`;
      },
      log: (_, error) => {
        throw error;
      },
    });
    const say = (line: string, direct: boolean, i: number): void => {
      const reply = dispatcher.handle({
        collective: 1 + ((i * 37) % COLLECTIVES),
        person: { key: 'terminal:M1', name: 'M1', role: 'steward' },
        direct,
        now,
        requestId: `${name}-${line}-${i}`,
        say: { line },
      });
      if (reply.outcome !== 'answered') throw new Error(`${line}: ${reply.title}`);
    };
    return { database, say };
  };
  try {
    const sides = { few: open('few.sqlite', 50), many: open('many.sqlite', perCollective) };
    show('load.jobs.few', COLLECTIVES * 50);
    show('load.jobs.many', COLLECTIVES * perCollective);
    const only = process.env.LOAD_ONLY?.split(',');
    for (const [name, line] of Object.entries({ ...dayLines, ...moreLines })) {
      if (only && !only.includes(name)) continue;
      const times = { few: [] as number[], many: [] as number[] };
      for (let i = -10; i < ROUNDS; i += 1) {
        const { line: text, direct = false } = line(i + 10);
        // Who comes first changes: what the one leaves in the caches of the machine must not always help the other.
        const order = i % 2 === 0 ? (['few', 'many'] as const) : (['many', 'few'] as const);
        for (const side of order) {
          const from = process.hrtime.bigint();
          sides[side].say(text, direct, i + 10);
          if (i >= 0) times[side].push(Number(process.hrtime.bigint() - from) / 1e6);
        }
      }
      show(`load.growth.${name}.p50.ratio`, quantile(times.many, 0.5) / quantile(times.few, 0.5));
    }
    sides.few.database.close();
    sides.many.database.close();
  } finally {
    rmSync(folder, { recursive: true });
  }
}

// --- sustained -----------------------------------------------------------------------------------------------------------

const SERVERS = 200;

/** Resident memory of a process in MB; Linux only. */
const memoryOf = (pid: number | undefined): number =>
  Number(/^VmRSS:\s+(\d+)/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1]) / 1024;

async function sustained(seconds: number, perSecond: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-load-'));
  const loopback = await openLoopback();
  const { world } = loopback;
  loopback.interactions.deadlineMs = 20 * DEADLINE_MS;
  const people = peopleOn(loopback, SERVERS);
  const rest = new REST({ api: loopback.api }).setToken(world.token);
  await register({ rest, application: world.application, commands, server: null });
  const bot = run({
    arguments: ['--serve', '--data', folder],
    environment: { DISCORD_TOKEN: world.token, DISCORD_API: loopback.api },
  });
  try {
    if (!(await says(bot, 'connected'))) throw new Error(bot.err());
    for (let s = 0; s < SERVERS; s += 1)
      await people[s * PEOPLE_EACH]?.use('family', 'name', {
        model: 'Orrin K3',
        as: 'glued-front-home-sensor',
      });

    /** So many commands a second for so long; what became of each. Somebody noisy may speak beside them. */
    const stretch = async (length: number, noisy: Person | null): Promise<Interaction[]> => {
      const sent: Interaction[] = [];
      const from = performance.now();
      let noise = 0;
      for (let i = 0; i < length * perSecond; ) {
        const due = ((performance.now() - from) / 1000) * perSecond;
        for (; i < Math.min(due, length * perSecond); i += 1) {
          const [command, action, options] = everyday[i % everyday.length] ?? ['help', '', {}];
          const person = people[(i * 13) % (people.length - 1)];
          if (person) sent.push(person.start(command, action, options));
        }
        // Half as many again as all the others together.
        for (; noisy && noise < i / 2; noise += 1) noisy.start('job', 'list', {});
        await pause(2);
      }
      const until = performance.now() + 60_000;
      while (sent.some(({ callback }) => callback === null) && performance.now() < until) await pause(20);
      return sent;
    };
    const times = (list: readonly Interaction[]) =>
      list.filter(({ callback }) => callback !== null).map(({ sentAt, heardAt }) => heardAt - sentAt);
    const part = (list: readonly Interaction[], from: number, to: number) =>
      times(list.slice(Math.floor(from * list.length), Math.ceil(to * list.length)));

    await stretch(10, null);
    const memory = [memoryOf(bot.child.pid)];
    const minute = Math.min(1 / 3, 60 / seconds);
    const watch = setInterval(() => memory.push(memoryOf(bot.child.pid)), 2000);
    const begun = performance.now();
    const sent = await stretch(seconds, null);
    const took = (performance.now() - begun) / 1000;
    clearInterval(watch);
    show('load.sustained.seconds', seconds);
    show('load.sustained.commands', sent.length);
    show('load.sustained.commandsASecond', sent.length / took);
    show('load.sustained.unanswered', sent.filter(({ callback }) => callback === null).length);
    show('load.sustained.deferred', sent.filter(({ callback }) => callback === 5).length);
    for (const [key, p] of [
      ['p50', 0.5],
      ['p99', 0.99],
    ] as const)
      show(
        `load.sustained.${key}.lastToFirst.ratio`,
        quantile(part(sent, 1 - minute, 1), p) / quantile(part(sent, 0, minute), p),
      );
    const most = (values: readonly number[]) => Math.max(...values);
    const share = Math.max(1, Math.floor(memory.length * minute));
    show(
      'load.sustained.memory.lastToFirst.ratio',
      most(memory.slice(-share)) / most(memory.slice(0, share)),
    );

    const alone = await stretch(15, null);
    const beside = await stretch(15, people.at(-1) ?? null);
    show('load.noisy.others.p50.ratio', quantile(times(beside), 0.5) / quantile(times(alone), 0.5));
    show('load.noisy.others.p99.ratio', quantile(times(beside), 0.99) / quantile(times(alone), 0.99));
    show('load.noisy.others.unanswered', beside.filter(({ callback }) => callback === null).length);
    show('load.problems', loopback.problems.length);
  } finally {
    bot.child.kill('SIGTERM');
    await bot.ended;
    await loopback.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

const [what = 'all', seconds = '600', perSecond = '100'] = process.argv.slice(2);
if (what !== 'sustained') growth(Number(process.env.LOAD_JOBS ?? 5000));
if (what !== 'growth') await sustained(Number(seconds), Number(perSecond));
