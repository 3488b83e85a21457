/** The bot as a program of its own: started as people start it, killed (SIGKILL), and started again. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openDatabase } from '../../shared/store/index.ts';
import type { ClockStep } from '../../src/clock/post-once.ts';
import { finishJob } from '../clock/finished.ts';
import { testSealer } from '../sealer.ts';
import { type Person, personOf, type Seen, until } from './people.ts';
import { absent, homeserver } from './scene.ts';
import { type Account, type Accounts, accountsOf } from './synapse.ts';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');

interface Program {
  child: ChildProcess;
  said(): string;
  /** Resolves when it has ended. */
  ended: Promise<{ code: number | null; signal: string | null }>;
}

function run(args: readonly string[], account: Account, more: NodeJS.ProcessEnv = {}): Program {
  const { DISCORD_TOKEN: _, ...environment } = process.env;
  const child = spawn(process.execPath, [...args], {
    cwd: root,
    env: {
      ...environment,
      MATRIX_HOMESERVER: homeserver?.url ?? '',
      MATRIX_TOKEN: account.token,
      ...more,
    },
  });
  let said = '';
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (chunk: Buffer) => {
      said += chunk.toString();
    });
  const ended = once(child, 'close').then(([code, signal]: unknown[]) => ({
    code: typeof code === 'number' ? code : null,
    signal: typeof signal === 'string' ? signal : null,
  }));
  return { child, said: () => said, ended };
}

const isAnswerTo = (bot: Account, eventId: string) => (seen: Seen) =>
  seen.sender === bot.id &&
  seen.type === 'm.room.message' &&
  seen.content['m.relates_to']?.['m.in_reply_to']?.event_id === eventId;

describe.skipIf(absent)('the program', () => {
  let folder = '';
  let accounts: Accounts;
  let bot: Account;
  let ines: Person;
  let moss: Person;
  const programs: Program[] = [];
  beforeAll(async () => {
    if (!homeserver) return;
    folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
    accounts = accountsOf(homeserver.url, homeserver.secret);
    const tail = Date.now().toString(36);
    bot = await accounts.register(`program-${tail}`);
    ines = await personOf(homeserver.url, await accounts.register(`ines-${tail}`));
    moss = await personOf(homeserver.url, await accounts.register(`moss-${tail}`));
  });
  afterAll(async () => {
    ines?.stop();
    moss?.stop();
    for (const { child } of programs) child.kill('SIGKILL');
    await Promise.all(programs.map(({ ended }) => ended));
    if (folder) rmSync(folder, { recursive: true, force: true });
  });

  const start = (args: readonly string[], more: NodeJS.ProcessEnv = {}): Program => {
    const program = run(['src/thirdhand.cjs', '--data', join(folder, 'data'), ...args], bot, more);
    programs.push(program);
    return program;
  };
  const serve = async (): Promise<Program> => {
    const program = start(['--serve']);
    await until(
      () => (/Matrix: connected as/.test(program.said()) ? true : undefined),
      () => `the start: ${program.said()}`,
    );
    return program;
  };
  const answer = (who: Person, eventId: string) =>
    who.sees(isAnswerTo(bot, eventId), `an answer to ${eventId}`);
  const ask = async (room: string, line: string) => answer(ines, await ines.say(room, line));

  it('says with --check whether the token is good, and whether encryption works', async () => {
    const first = start(['--run', '/help']);
    await first.ended;
    const good = start(['--check']);
    expect(await good.ended, good.said()).toMatchObject({ code: 0 });
    expect(good.said()).toContain(`knows the bot as ${bot.id}`);
    expect(good.said()).toContain('the first start makes the account');
    const bad = start(['--check'], { MATRIX_TOKEN: 'syt_not_a_token_at_all' });
    expect(await bad.ended).toMatchObject({ code: 1 });
    expect(bad.said()).toContain('MATRIX_TOKEN: ');
    expect(bad.said()).not.toContain('syt_not_a_token_at_all');
    const serving = start(['--serve'], { MATRIX_TOKEN: 'syt_not_a_token_at_all' });
    expect(await serving.ended).toMatchObject({ code: 1 });
    expect(serving.said()).toContain('does not accept it');
    expect(serving.said()).not.toContain('syt_not_a_token_at_all');
  });

  it('answers once what was said after it was killed in the middle of a trace', async () => {
    const killed = await serve();
    const room = await ines.client.createRoom({ name: 'Tin Shed', invite: [bot.id, moss.id] });
    await moss.joinsInvite();
    await ines.sees((seen) => (seen.content.body ?? '').includes('Thirdhand is here'), 'the bot');
    await ask(room, '!th setup currency:AUD region:AU');
    await ask(room, '!th family name "Orrin K3" as:glued-front-home-sensor launched:2020-01 new-price:749');
    const asked = await ask(room, '!th trace "no charge" model:"Orrin K3"');
    expect(asked.content.body).toContain('Trace 1');
    killed.child.kill('SIGKILL');
    expect(await killed.ended).toEqual({ code: null, signal: 'SIGKILL' });

    await ines.react(room, asked.event_id, '1️⃣');
    const worth = await moss.say(room, '!th worth "Orrin K3" price:20');
    const takenBack = await moss.say(room, '!th caution swollen-cell');
    await moss.client.redactEvent(room, takenBack);

    const again = await serve();
    expect((await answer(ines, asked.event_id)).content.body).toContain('Trace 1');
    expect((await answer(ines, worth)).content.body).toContain('Orrin K3');
    // It goes on from there, and nothing comes twice.
    expect((await ask(room, '1')).content.body).toContain('Trace 1');
    again.child.kill('SIGTERM');
    expect(await again.ended, again.said()).toMatchObject({ code: 0 });
    const third = await serve();
    await ask(room, '!th trace show 1');
    const count = (event: string) => ines.seen.filter(isAnswerTo(bot, event)).length;
    expect([asked.event_id, worth, takenBack].map(count)).toEqual([1, 1, 0]);
    third.child.kill('SIGTERM');
    expect(await third.ended).toMatchObject({ code: 0 });
  });
});

describe.skipIf(absent)('the weekly post of a killed program', () => {
  let folder = '';
  let path = '';
  let room = '';
  let bot: Account;
  let ines: Person;
  beforeAll(async () => {
    if (!homeserver) return;
    folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
    path = join(folder, 'data.sqlite');
    const accounts = accountsOf(homeserver.url, homeserver.secret);
    const tail = Date.now().toString(36);
    bot = await accounts.register(`poster-${tail}`);
    ines = await personOf(homeserver.url, await accounts.register(`wren-${tail}`));
    room = await ines.client.createRoom({ name: 'Tin Shed', invite: [bot.id] });
    const joined = await fetch(`${homeserver.url}/_matrix/client/v3/join/${encodeURIComponent(room)}`, {
      method: 'POST',
      headers: { authorization: `Bearer ${bot.token}` },
    });
    expect(joined.ok).toBe(true);
    withStore((database) => {
      const { id: collective } = database.collectives.create('Tin Shed', { zone: 'UTC' });
      database.channelBindings.bind({ platform: 'matrix', id: room, collective, kind: 'room' }, new Date());
      database.channelBindings.setWeekly('matrix', room, true);
    });
  });
  afterAll(() => {
    ines?.stop();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });

  const withStore = (work: (database: ReturnType<typeof openDatabase>) => void): void => {
    const database = openDatabase(path, testSealer);
    try {
      work(database);
    } finally {
      database.close();
    }
  };
  /** A phone is back in use in this week. */
  const finish = (endedAt: Date): void =>
    withStore((database) => {
      const collective = database.collectives.list()[0];
      if (collective) finishJob(database.of(collective), { endedAt: endedAt.toISOString() });
    });
  const tick = (now: Date, moment = '') => {
    const args = ['--import', 'tsx', 'tests/homeserver/post-once.ts', path, room, now.toISOString(), moment];
    return run(args, bot);
  };
  /** What the room shows of a week: words, pictures, corrections. */
  const shown = (week: string) => {
    const bots = ines.seen.filter((seen) => seen.sender === bot.id && seen.room === room);
    const says = (seen: Seen) => JSON.stringify(seen.content).includes(week);
    const isEdit = (seen: Seen) => seen.content['m.relates_to']?.rel_type === 'm.replace';
    return {
      words: bots.filter((seen) => seen.content.msgtype === 'm.notice' && says(seen) && !isEdit(seen)),
      pictures: bots.filter((seen) => seen.content.msgtype === 'm.image' && says(seen)),
      edits: bots.filter((seen) => isEdit(seen) && says(seen)),
    };
  };

  const WEEK = 7 * 24 * 3600_000;
  const moments: (ClockStep | 'in-picture')[] = ['intent-saved', 'in-picture', 'posted', 'sent-unsaved'];
  const cases = moments.map((moment, index) => ({
    moment,
    week: `2026-W0${index + 2}`,
    // Wednesday of that week, and the Monday after it.
    ended: new Date(Date.parse('2026-01-07T01:00:00Z') + index * WEEK),
    due: new Date(Date.parse('2026-01-12T12:00:00Z') + index * WEEK),
  }));

  it.each(cases)('at $moment: stands there once, with its picture', async ({ moment, week, ended, due }) => {
    finish(ended);
    const killed = tick(due, moment);
    expect(await killed.ended, killed.said()).toEqual({ code: null, signal: 'SIGKILL' });
    const whole = tick(new Date(due.getTime() + 2 * 60_000));
    expect(await whole.ended, whole.said()).toMatchObject({ code: 0 });
    await until(
      () => (shown(week).pictures.length ? true : undefined),
      () => `the picture of ${week}`,
    );
    const { words, pictures } = shown(week);
    expect(words.map(({ content }) => content.body)).toEqual([expect.stringContaining(week)]);
    expect(pictures).toHaveLength(1);
    // A real picture, with its size and words for it.
    const [picture] = pictures;
    const { w, h } = Object(picture?.content.info);
    expect(Math.min(Number(w), Number(h))).toBeGreaterThan(100);
    expect(picture?.content.body?.length).toBeGreaterThan(20);
  });

  it('when it is killed after the correction: is put right, and stays one', async () => {
    const [first] = cases;
    if (!first) return;
    const { week, ended } = first;
    finish(new Date(ended.getTime() + 24 * 3600_000));
    const later = (cases.at(-1)?.due.getTime() ?? 0) + 10 * 60_000;
    const killed = tick(new Date(later), 'edited');
    expect(await killed.ended, killed.said()).toEqual({ code: null, signal: 'SIGKILL' });
    const whole = tick(new Date(later + 2 * 60_000));
    expect(await whole.ended, whole.said()).toMatchObject({ code: 0 });
    await until(
      () => (shown(week).edits.length ? true : undefined),
      () => 'the correction',
    );
    const { words, edits } = shown(week);
    expect(words).toHaveLength(1);
    expect(edits.at(-1)?.content['m.relates_to']?.event_id).toBe(words[0]?.event_id);
    expect(JSON.stringify(edits.at(-1)?.content['m.new_content'])).toContain('2 phones');
  });
});
