/**
 * Two figures of the bot on Discord, as a process of its own on the loopback server.
 *
 * `discord.block.ms`: the longest time that its event loop was blocked while four pages and pictures and ten commands were asked
 * at once, in milliseconds; the worst of some rounds. `discord.identify.after.outage`: how often it logged in by a few seconds
 * after a gateway that was away for 40 s at its start came back; 1 is right.
 *
 * Part of `npm run bench`; alone: `npm run node tests/bench/discord-home.ts`.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import type { Interaction } from '../discord/loopback/interactions.ts';
import type { Person } from '../discord/loopback/person.ts';
import { furnish, openPlace, ownArgs, startBot } from './discord.ts';

const ROUNDS = 5;
const PAGES = 4;
const OUTAGE_MS = 40_000;
const WAYS = [502, 'hanging', 'refused', 503] as const;
const withDelay = {
  NODE_OPTIONS: `--import ${pathToFileURL(join(import.meta.dirname, 'loop-delay.mjs')).href}`,
};

/** A restored phone, so that there is a page and a picture to draw. */
async function restore(lead: Person): Promise<void> {
  const use = async (action: string, options: Record<string, string>): Promise<void> => {
    const { message } = await lead.use('job', action, options);
    const title = String(message?.embeds.at(-1)?.title ?? '');
    if (!message || title.startsWith('✗')) throw new Error(`/job ${action}: ${title}`);
  };
  const job = '1';
  await use('open', { model: 'Orrin K3', came: 'given', symptoms: 'does not charge' });
  await use('answer', { ownership: 'shown', lock: 'free', stolen: 'clear', data: 'purge', job });
  await use('log', { fitted: 'external charging port', grade: 'copy', out: '9', minutes: '30', job });
}

/** Four that are drawn and ten that are not, all at once. */
const asked = (next: () => Person): Interaction[] => [
  ...Array.from({ length: PAGES }, () => next().start('job', 'page', { job: '1' })),
  ...Array.from({ length: 4 }, () => next().start('help', '', {})),
  ...Array.from({ length: 3 }, () => next().start('job', 'list', {})),
  ...Array.from({ length: 3 }, () => next().start('paired', '', { of: 'Orrin K3', component: 'battery' })),
];

async function blocked(folder: string): Promise<number> {
  const place = await openPlace();
  const bot = await startBot(ownArgs(folder), /connected\./, place.loopback, withDelay);
  let said = '';
  bot.child.stdout?.on('data', (chunk: Buffer) => {
    said += chunk.toString();
  });
  const told = async (): Promise<number> => {
    said = '';
    bot.child.kill('SIGUSR2');
    for (;;) {
      const ms = /blocked ([\d.]+) ms/.exec(said)?.[1];
      if (ms !== undefined) return Number(ms);
      await pause(20);
    }
  };
  try {
    await furnish(place.lead);
    await restore(place.lead);
    const rounds: number[] = [];
    for (let round = 0; round <= ROUNDS; round += 1) {
      // Each round has pages that were not drawn before.
      await place.lead.use('job', 'log', { text: `round ${round}`, minutes: '1', job: '1' });
      await told();
      const all = asked(place.next);
      for (const one of all) if (!one.heardAt) await one.next(60_000);
      const drawn = () => all.filter(({ original }) => original?.attachments.length).length;
      for (let tries = 0; drawn() < PAGES; tries += 1) {
        if (tries > 500) throw new Error(`${drawn()} of ${PAGES} pages came`);
        await pause(20);
      }
      const longest = await told();
      // The first warms up.
      if (round) rounds.push(longest);
    }
    return Math.max(...rounds);
  } finally {
    await bot.stop();
    await place.loopback.close();
  }
}

async function identified(folder: string): Promise<number> {
  const place = await openPlace();
  const { gateway } = place.loopback;
  const turn = async (): Promise<void> => {
    for (const way of WAYS) {
      gateway.away = way;
      await pause(OUTAGE_MS / WAYS.length);
    }
    gateway.away = null;
  };
  const turning = turn();
  const bot = await startBot(ownArgs(folder), /connected\./, place.loopback);
  try {
    await turning;
    await pause(5000);
    return gateway.log.filter((one) => one === 'identify').length;
  } finally {
    await bot.stop();
    await place.loopback.close();
  }
}

export async function homeFigures(): Promise<Record<string, number>> {
  const folders = [1, 2].map(() => mkdtempSync(join(tmpdir(), 'thirdhand-bench-')));
  const [first = '', second = ''] = folders;
  try {
    return {
      'discord.block.ms': Math.round((await blocked(first)) * 10) / 10,
      'discord.identify.after.outage': await identified(second),
    };
  } finally {
    for (const folder of folders) rmSync(folder, { recursive: true });
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  for (const [name, value] of Object.entries(await homeFigures()))
    process.stdout.write(`${name.padEnd(36)}${String(value).padStart(12)}\n`);
}
