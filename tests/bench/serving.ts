/**
 * The running bot as it is run: `npm run node tests/bench/serving.ts [MINUTES] [COMMANDS A SECOND]`, 60 and 20 when not given. On
 * the loopback Discord with Discord's own deadline of 3 s, 40 servers with 4 people each; its numbers are scraped every 5 s, and
 * the store is copied every minute by the program itself, beside it. Prints each tenth of the time, so that it can be seen
 * whether anything grows: `cpu ms` is the bot's own processor time a command, whatever else the machine does; nothing passes or fails by it.
 */
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { REST } from 'discord.js';
import { commands } from '../../commands/index.ts';
import { build } from '../../src/build.ts';
import { register } from '../../src/surfaces/discord/registering.ts';
import { DEADLINE_MS, type Interaction } from '../discord/loopback/interactions.ts';
import { openLoopback } from '../discord/loopback/server.ts';
import { freePort } from '../free-port.ts';
import { run, says } from '../kills/programs.ts';
import { readExposition } from '../oracles/exposition-reader.ts';
import { everyday, PEOPLE_EACH, peopleOn } from './crowd.ts';

const SERVERS = 40;
const SCRAPE_MS = 5000;
const BACKUP_MS = 60_000;
const PARTS = 10;
const quantile = (values: readonly number[], p: number): number =>
  [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(p * values.length))] ?? Number.NaN;

/** What was scraped at a moment. */
type Scraped = ReadonlyMap<string, number>;
async function scrape(port: number): Promise<Scraped> {
  const text = await (await fetch(`http://127.0.0.1:${port}/metrics`)).text();
  return new Map(
    [...readExposition(text)].flatMap(([, { samples }]) =>
      samples.map(({ name, labels, value }) => [[name, ...Object.values(labels)].join(' '), value] as const),
    ),
  );
}

const minutes = Number(process.argv[2] ?? 60);
const perSecond = Number(process.argv[3] ?? 20);
await build({ ifStale: true });
const folder = mkdtempSync(join(tmpdir(), 'thirdhand-serving-'));
const data = join(folder, 'data');
const copies = join(folder, 'copies');
const loopback = await openLoopback();
loopback.interactions.deadlineMs = DEADLINE_MS;
const people = peopleOn(loopback, SERVERS);
const rest = new REST({ api: loopback.api }).setToken(loopback.world.token);
await register({ rest, application: loopback.world.application, commands, server: null });
const port = await freePort();
const bot = run({
  arguments: ['--serve', '--data', data],
  environment: {
    DISCORD_TOKEN: loopback.world.token,
    DISCORD_API: loopback.api,
    THIRDHAND_HEALTH_PORT: String(port),
  },
});
const line = (...cells: (string | number)[]): void =>
  console.log(cells.map((cell) => String(cell).padStart(9)).join(' '));

try {
  if (!(await says(bot, 'connected'))) throw new Error(bot.err());
  for (let s = 0; s < SERVERS; s += 1)
    await people[s * PEOPLE_EACH]?.use('family', 'name', {
      model: 'Orrin K3',
      as: 'glued-front-home-sensor',
    });

  const scrapes: Scraped[] = [];
  let [scrapesFailed, backups, backupsFailed] = [0, 0, 0];
  const scraping = setInterval(() => {
    scrape(port).then(
      (one) => scrapes.push(one),
      () => {
        scrapesFailed += 1;
      },
    );
  }, SCRAPE_MS);
  const backing = setInterval(() => {
    const one = run({ arguments: ['--data', data, '--backup', `${copies}/`, '--keep', '5'] });
    one.ended.then(({ code }) => {
      backups += 1;
      if (code !== 0) backupsFailed += 1;
    });
  }, BACKUP_MS);

  line(
    'minute',
    'commands',
    'p50 ms',
    'p99 ms',
    'max ms',
    'memory MB',
    'lag ms',
    'queue',
    'store MB',
    'wal MB',
  );
  let turn = 0;
  const late: Interaction[] = [];
  let total = 0;
  let processor = (await scrape(port)).get('process_cpu_seconds_total') ?? 0;
  for (let part = 0; part < PARTS; part += 1) {
    const length = (minutes * 60) / PARTS;
    const sent: Interaction[] = [];
    const from = performance.now();
    while (sent.length < length * perSecond) {
      const due = ((performance.now() - from) / 1000) * perSecond;
      while (sent.length < Math.min(due, length * perSecond)) {
        const [command, action, options] = everyday[turn % everyday.length] ?? ['help', '', {}];
        const person = people[(turn * 13) % people.length];
        turn += 1;
        if (person) sent.push(person.start(command, action, options));
      }
      await pause(2);
    }
    const until = performance.now() + 30_000;
    while (sent.some(({ callback }) => callback === null) && performance.now() < until) await pause(20);
    const times = sent.map(({ callback, sentAt, heardAt }) =>
      callback === null ? Infinity : heardAt - sentAt,
    );
    late.push(...sent.filter((_, i) => (times[i] ?? 0) > DEADLINE_MS));
    total += sent.length;
    const now = await scrape(port);
    const at = (name: string): number => now.get(name) ?? Number.NaN;
    const recent = scrapes.splice(0);
    const most = (name: string): number => Math.max(at(name), ...recent.map((one) => one.get(name) ?? 0));
    line(
      Math.round((part + 1) * length) / 60,
      sent.length,
      (((at('process_cpu_seconds_total') - processor) * 1000) / sent.length).toFixed(2),
      quantile(times, 0.5).toFixed(1),
      quantile(times, 0.99).toFixed(0),
      Math.max(...times).toFixed(0),
      (most('process_resident_memory_bytes') / 1e6).toFixed(0),
      (most('thirdhand_event_loop_lag_seconds') * 1000).toFixed(0),
      most('thirdhand_queue'),
      (at('thirdhand_store_bytes store') / 1e6).toFixed(1),
      (most('thirdhand_store_bytes journal') / 1e6).toFixed(1),
    );
    processor = at('process_cpu_seconds_total');
  }
  clearInterval(scraping);
  clearInterval(backing);
  const end = await scrape(port);
  for (const [name, value] of Object.entries({
    commands: total,
    late: late.length,
    'late by the bot itself': end.get('thirdhand_late_answers_total') ?? Number.NaN,
    deferred: end.get('thirdhand_deferrals_total') ?? Number.NaN,
    answered: end.get('thirdhand_commands_total answered') ?? Number.NaN,
    refused: end.get('thirdhand_commands_total refused') ?? Number.NaN,
    faults: end.get('thirdhand_faults_total') ?? Number.NaN,
    'scrapes that failed': scrapesFailed,
    backups,
    'backups that failed': backupsFailed,
    'copies kept': backups ? readdirSync(copies).length : 0,
    'payloads that Discord would refuse': loopback.problems.length,
  }))
    console.log(`${name.padEnd(36)}${String(value).padStart(10)}`);
} finally {
  bot.child.kill('SIGTERM');
  const { code } = await bot.ended;
  console.log(`ended with ${code}${bot.err() ? `: ${bot.err()}` : ''}`);
  await loopback.close();
  rmSync(folder, { recursive: true, force: true });
}
