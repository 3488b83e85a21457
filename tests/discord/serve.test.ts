import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { serve } from '../../src/serve.ts';
import { finishJob } from '../clock/finished.ts';
import { knowledge } from '../test-bot.ts';
import { type Stage, stage, titleOf, until } from './bot.ts';

const root = join(fileURLToPath(import.meta.url), '../../..');
let on: Stage;
let folder: string;
beforeEach(async () => {
  on = await stage();
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-serve-'));
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
  rmSync(folder, { recursive: true });
});

const DAY = 24 * 3600 * 1000;
/** Serves on the stage's store until `end` is called, or until it ends by itself. */
function serving() {
  const said: string[] = [];
  let end: (why: string) => void = () => undefined;
  const code = serve({
    database: on.database,
    knowledge: knowledge(),
    data: folder,
    environment: { DISCORD_TOKEN: on.loopback.world.token, DISCORD_API: on.loopback.api },
    log: (id, error) => on.faults.push({ id, error }),
    write: (line) => said.push(line),
    until: new Promise((resolve) => {
      end = resolve;
    }),
  });
  return { said, code, end: (why: string) => end(why) };
}

describe('--serve on Discord', () => {
  it('posts the week with its picture, once over two runs, and ends when it is told to', async () => {
    await on.ines.use('server', 'weekly', {});
    // The clock of a serving bot is the true one.
    const now = new Date();
    on.now.at = now;
    const [collective] = on.database.collectives.list();
    if (!collective) throw new Error('no collective');
    for (const ago of [7, 8])
      finishJob(on.database.of(collective), {
        openedAt: new Date(now.getTime() - 20 * DAY).toISOString(),
        endedAt: new Date(now.getTime() - ago * DAY).toISOString(),
      });
    const asked = await on.ines.use('week', 'post', {});
    expect(titleOf(asked.message)).toMatch(/will be posted/);
    await on.bot.stop();
    const posted = () => on.loopback.world.seenIn(on.channel.id).filter(({ nonce }) => nonce !== null);
    const first = serving();
    await until(() => posted().length > 0, 'the weekly post', 60_000);
    first.end('SIGTERM');
    expect(await first.code).toBe(0);
    // The stage lives on an earlier day than the bot that serves: the clock tells of that leap.
    const told = first.said.filter((line) => !/^(Everything is loaded|clock: the time went)/.test(line));
    expect(told).toEqual(['Discord: connected.', 'SIGTERM: ending.']);
    const pictures = posted().flatMap(({ attachments }) => attachments);
    expect(pictures[0]?.bytes.subarray(1, 4).toString()).toBe('PNG');
    expect(pictures[0]?.description).toMatch(/back in use/i);
    const before = posted().length;
    const second = serving();
    await until(() => second.said.includes('Discord: connected.'), 'a second run', 60_000);
    expect(titleOf((await on.moss.use('trace', 'list', {})).message)).toBe('▸ No trace is open');
    second.end('SIGINT');
    expect(await second.code).toBe(0);
    expect(posted()).toHaveLength(before);
    // The stage lives on an earlier day: the clock of the bot that serves tells of the leap.
    expect(on.faults.filter(({ id }) => id !== 'discord' && id !== 'clock')).toEqual([]);
  }, 120_000);

  it('says that Discord cannot be reached, goes on trying, and ends when it is told to', async () => {
    const child = spawn(process.execPath, ['src/thirdhand.cjs', '--serve', '--data', join(folder, 'data')], {
      cwd: root,
      // Nothing listens on port 9 (discard, RFC 863) of this machine.
      env: {
        PATH: process.env.PATH,
        DISCORD_TOKEN: on.loopback.world.token,
        DISCORD_API: 'http://127.0.0.1:9/api',
      },
    });
    let said = '';
    child.stdout.on('data', (chunk: Buffer) => {
      said += chunk.toString();
    });
    const ended = new Promise((resolve) => {
      child.on('close', (code) => resolve(code));
    });
    await until(() => said.includes('discord: Discord cannot be reached'), 'the news', 60_000);
    child.kill('SIGTERM');
    expect(await ended).toBe(0);
    expect(said).toContain('SIGTERM: ending.');
    expect(said).not.toContain(on.loopback.world.token);
  }, 120_000);

  it('ends with 1 and one line when Discord takes the token back', async () => {
    await on.bot.stop();
    const run = serving();
    await until(() => run.said.includes('Discord: connected.'), 'a start', 60_000);
    on.loopback.gateway.closeWith(4004);
    expect(await run.code).toBe(1);
    expect(run.said.filter((line) => !line.startsWith('Everything is loaded')).at(-1)).toMatch(
      /^discord: DISCORD_TOKEN: Discord does not accept it/,
    );
    expect(run.said.join()).not.toContain(on.loopback.world.token);
  }, 120_000);
});
