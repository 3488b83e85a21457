import { type ChildProcess, spawn } from 'node:child_process';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { startDiscord } from '../../src/surfaces/discord/start.ts';
import { type Stage, stage, titleOf, until, wordsOn } from './bot.ts';
import type { Fault } from './loopback/server.ts';

let on: Stage;
beforeEach(async () => {
  on = await stage();
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
});

const callback = /^\/interactions\/.*\/callback$/;
const strike = (fault: Fault) => on.loopback.faults.push(fault);
const asked = () => on.moss.use('trace', 'list', {});
/** Titles of the answers that everyone in a channel sees. */
const answersIn = (channel: string): string[] => on.loopback.world.seenIn(channel).map(titleOf);
const openJobs = () => {
  const [collective] = on.database.collectives.list();
  return collective ? on.database.of(collective).jobs.listOpen() : [];
};
/** Waits until the bot has sent so many first answers, taken or not. */
const arrivals = (count: number): Promise<void> =>
  until(
    () => on.loopback.arrived.filter((one) => /^POST .*\/callback$/.test(one)).length >= count,
    `${count} answers on their way`,
  );

describe('a request to Discord', () => {
  it('whose socket is cut before it arrives is sent again', async () => {
    strike({ method: 'POST', path: callback, do: 'cut before' });
    expect(titleOf((await asked()).message)).toBe('▸ No trace is open');
    expect(on.faults).toEqual([]);
  });

  it('whose answer is lost is not shown twice', async () => {
    strike({ method: 'POST', path: callback, do: 'cut after' });
    const seen = await asked();
    expect(titleOf(seen.message)).toBe('▸ No trace is open');
    await until(() => on.loopback.requests('POST', callback).length > 1, 'the second try');
    // When it was told that it had been heard, it was content.
    await on.bot.stop();
    expect(seen.followUps).toEqual([]);
    expect(on.loopback.world.seenIn(on.channel.id)).toHaveLength(1);
    expect(on.faults).toEqual([]);
  });

  it('that is to wait is sent after the wait', async () => {
    strike({
      method: 'POST',
      path: callback,
      do: {
        status: 429,
        headers: { 'retry-after': '0.2', 'x-ratelimit-scope': 'user', via: '1.1 loopback' },
        body: { message: 'You are being rate limited.', retry_after: 0.2, global: false, code: 0 },
      },
    });
    const from = performance.now();
    expect(titleOf((await asked()).message)).toBe('▸ No trace is open');
    expect(performance.now() - from).toBeGreaterThan(190);
  });

  it('that finds Discord out of order is sent again', async () => {
    strike({ method: 'POST', path: callback, times: 2, do: { status: 502 } });
    expect(titleOf((await asked()).message)).toBe('▸ No trace is open');
  });

  it('that Discord does not take is followed by a word that it was done, and where to look', async () => {
    strike({
      method: 'POST',
      path: callback,
      do: { status: 400, body: { code: 50035, message: 'Invalid Form Body' } },
    });
    const seen = await asked();
    expect(seen.ephemeral).toBe(true);
    const [fault] = on.faults;
    expect(wordsOn(seen.message)).toContain(
      `It was done, but Discord did not take the answer. The log has it under ${fault?.id}.`,
    );
  });

  it('that comes after the time for it is told to the log', async () => {
    strike({
      method: 'POST',
      path: callback,
      do: { status: 404, body: { code: 10062, message: 'Unknown interaction' } },
    });
    const interaction = on.moss.start('trace', 'list');
    await until(() => on.faults.length === 1, 'the fault');
    expect(interaction.callback).toBeNull();
  });

  it('is answered to the person when a command itself fails', async () => {
    on.database.close();
    const seen = await asked();
    expect(seen.ephemeral).toBe(true);
    expect(wordsOn(seen.message)).toContain('Something went wrong here');
    expect(on.faults.length).toBeGreaterThan(0);
  });
});

describe('the connection', () => {
  const works = async () => {
    await on.loopback.gateway.opened();
    expect(titleOf((await asked()).message)).toBe('▸ No trace is open');
  };

  it.each([
    ['asks for a new connection', () => on.loopback.gateway.askReconnect(), 'resume'],
    ['is cut', () => on.loopback.gateway.cut(), 'resume'],
    ['is closed with 4009', () => on.loopback.gateway.closeWith(4009), 'resume'],
    ['has a session that can be resumed', () => on.loopback.gateway.invalidate(true), 'resume'],
    ['has a session that is gone', () => on.loopback.gateway.invalidate(false), 'identify'],
  ] as const)(
    'goes on when it %s',
    async (_, happen, how) => {
      happen();
      await works();
      expect(on.loopback.gateway.log.filter((one) => one !== 'heartbeat').slice(1)).toContain(how);
    },
    60_000,
  );

  it('that is refused its old session begins a new one', async () => {
    on.loopback.gateway.refuseResume = true;
    on.loopback.gateway.cut();
    await works();
    expect(on.loopback.gateway.log).toContain('resume refused');
  }, 60_000);

  it('that gets no heartbeat acknowledged is opened anew', async () => {
    const { gateway } = on.loopback;
    gateway.heartbeatMs = 150;
    gateway.askReconnect();
    await gateway.opened();
    gateway.deaf = true;
    const before = gateway.log.filter((one) => one === 'resume' || one === 'identify').length;
    await until(
      () => gateway.log.filter((one) => one === 'resume' || one === 'identify').length > before,
      'another connection',
    );
    gateway.deaf = false;
    gateway.heartbeatMs = 41_250;
    await works();
  }, 60_000);

  it('brings what was said while it was away, answered once', async () => {
    on.loopback.gateway.cut();
    const interaction = on.moss.start('job', 'open', { model: 'glued-front-home-sensor' });
    const seen = await on.moss.outcome(interaction);
    expect(titleOf(seen.message)).toContain('Job 1 is open');
    on.loopback.interactions.repeat(interaction);
    // Whatever becomes of the second delivery is over before this is answered.
    expect(titleOf((await asked()).message)).toBe('▸ No trace is open');
    expect(seen.followUps).toEqual([]);
    expect(answersIn(on.channel.id).filter((title) => title.includes('Job'))).toEqual([
      titleOf(seen.message),
    ]);
    expect(openJobs()).toHaveLength(1);
    expect(on.faults.filter(({ id }) => id !== 'discord')).toEqual([]);
  });

  it('brings the same interaction to a bot that was restarted meanwhile, and nothing is done twice', async () => {
    const interaction = on.moss.start('job', 'open', { model: 'glued-front-home-sensor' });
    await on.moss.outcome(interaction);
    await on.restart();
    on.loopback.interactions.repeat(interaction);
    await until(
      () => on.loopback.requests('POST', new RegExp(interaction.id)).length > 1,
      'the second answer',
    );
    await asked();
    expect(openJobs()).toHaveLength(1);
    expect(answersIn(on.channel.id).filter((title) => title.includes('Job 1 is open'))).toHaveLength(1);
    expect(on.faults.filter(({ id }) => id !== 'discord')).toEqual([]);
  });

  it('that ends while something is being answered finishes that first', async () => {
    const letGo = on.loopback.holdAnswers();
    const interaction = on.moss.start('job', 'open', { model: 'glued-front-home-sensor' });
    await arrivals(1);
    let stopped = false;
    const stopping = on.bot.stop().then(() => {
      stopped = true;
    });
    await pause(50);
    expect(stopped).toBe(false);
    letGo();
    await stopping;
    expect(titleOf(interaction.original)).toContain('Job 1 is open');
  });

  it('says so to whoever speaks while it ends', async () => {
    const letGo = on.loopback.holdAnswers();
    const first = on.moss.start('trace', 'list');
    await arrivals(1);
    const stopping = on.bot.stop();
    const second = on.wren.start('trace', 'list');
    await arrivals(2);
    letGo();
    const seen = await on.wren.outcome(second);
    await stopping;
    expect(titleOf(first.original)).toBe('▸ No trace is open');
    expect(wordsOn(seen.message)).toContain('I am being restarted');
  });
});

describe('a start', () => {
  it('with a token that is not good says so in one line', async () => {
    const { world } = on.loopback;
    const start = startDiscord({ ...on.parts, settings: { ...on.parts.settings, token: `${world.token}x` } });
    await expect(start).rejects.toThrow(/^DISCORD_TOKEN: Discord does not accept it/);
  });

  it.each([
    [4004, /^DISCORD_TOKEN: Discord does not accept it/],
    [4014, /^Discord does not allow the events that were asked for \(4014\)/],
    [4013, /^Discord does not allow the events that were asked for \(4013\)/],
    [4011, /^Discord wants the connection split up/],
  ])('that Discord closes with %s says why in one line', async (code, words) => {
    await on.bot.stop();
    on.loopback.gateway.refuseWith = code;
    const start = startDiscord(on.parts);
    await expect(start).rejects.toThrow(words);
    await expect(start).rejects.not.toThrow(on.loopback.world.token);
    on.loopback.gateway.refuseWith = null;
    await on.restart();
  });

  it('asks for no privileged intent', () => {
    // Members, presences and message content (developer documentation, "Privileged Intents").
    expect(on.loopback.gateway.intents & ((1 << 1) | (1 << 8) | (1 << 15))).toBe(0);
    expect(on.loopback.gateway.intents).not.toBe(0);
  });

  it('waits for a Discord that cannot be reached', async () => {
    await on.bot.stop();
    strike({ method: 'GET', path: /^\/gateway\/bot$/, do: 'cut before' });
    await on.restart();
    expect(titleOf((await asked()).message)).toBe('▸ No trace is open');
    expect(on.faults.map(({ error }) => String(error)).join()).toContain('cannot be reached');
  });
});

describe('a bot in a process of its own', () => {
  let child: ChildProcess | null = null;
  let said = '';
  afterEach(() => {
    child?.kill('SIGKILL');
    child = null;
  });
  const run = async (): Promise<ChildProcess> => {
    await on.bot.stop();
    said = '';
    const { world, api } = on.loopback;
    const started = spawn(
      process.execPath,
      [join(fileURLToPath(import.meta.url), '../run-bot.ts'), ':memory:'],
      {
        env: { ...process.env, DISCORD_TOKEN: world.token, DISCORD_API: api },
        stdio: ['ignore', 'pipe', 'pipe'],
      },
    );
    child = started;
    for (const stream of [started.stdout, started.stderr])
      stream?.on('data', (chunk: Buffer) => {
        said += chunk.toString();
      });
    await until(() => /ready|not started/.test(said), 'a start', 100_000);
    return started;
  };
  const exit = (one: ChildProcess) =>
    new Promise<number | null>((resolve) => {
      if (one.exitCode !== null) resolve(one.exitCode);
      else one.once('exit', resolve);
    });

  it('stops with a clear line, without the token, when the token is taken back', async () => {
    const bot = await run();
    on.loopback.gateway.closeWith(4004);
    expect(await exit(bot)).toBe(1);
    expect(said).toContain('ended: DISCORD_TOKEN: Discord does not accept it (any more).');
    expect(said).not.toContain(on.loopback.world.token);
  }, 160_000);

  it('stops with a clear line when Discord wants no more of it', async () => {
    const bot = await run();
    on.loopback.gateway.closeWith(4014);
    expect(await exit(bot)).toBe(1);
    expect(said).toContain('does not allow the events that were asked for (4014)');
  }, 160_000);

  it('lives on when Discord sends what discord.js cannot read', async () => {
    await run();
    const { gateway, interactions } = on.loopback;
    const sent = interactions.send('component', on.people.moss.id, on.channel.id, {
      component_type: 2,
      custom_id: 'x',
    });
    // Without the message that it is on, and with parts missing that discord.js counts on.
    const { message: _, entitlements: __, ...payload } = sent.payload;
    for (const one of [
      { ...payload, id: '1', data: { component_type: 2, custom_id: 'x' } },
      { ...payload, id: '2', data: null },
      { ...payload, id: '3', type: 99 },
      { ...payload, id: '4', member: { user: null } },
    ])
      gateway.dispatch('INTERACTION_CREATE', one);
    expect(titleOf((await asked()).message)).toBe('▸ No trace is open');
    await until(() => said.includes('could not be read'), 'a word in the log');
    expect(child?.exitCode).toBeNull();
  }, 160_000);

  it('ends in order at SIGTERM', async () => {
    const bot = await run();
    await asked();
    bot.kill('SIGTERM');
    expect(await exit(bot)).toBe(0);
    expect(said).toContain('stopped');
  }, 160_000);
});
