/**
 * The same as harness.ts on Matrix: the real program at a real homeserver is killed at random moments, before and after
 * commits. What is said to it is answered all the same, once, since it goes on from where it had got to.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { formatWeek, type IsoWeek, previousWeek, shiftWeek, weekOf } from '../../shared/week/iso-week.ts';
import { seeded } from '../diagnosis/random-problem.ts';
import { type Person, personOf, type Seen, until } from '../homeserver/people.ts';
import { type Account, accountsOf, openSynapse } from '../homeserver/synapse.ts';
import { type Change, FAMILY, judge, lineFor, look, MODEL } from './ledger.ts';
import { type Running, run, says } from './programs.ts';

export interface MatrixKillsFound {
  kills: Record<string, number>;
  changes: number;
  /** Answers that Ines has seen. */
  answers: number;
  weeksAsked: number;
  weeksPosted: number;
  wrong: string[];
}

const STEP_MS = 2 * 60_000;
const LONG_MS = 7 * 3600_000;
const MOST_SAID = 8;
const LONGEST_START_MS = 2500;
const kinds = ['price', 'log', 'swap', 'open'] as const;

const answers = (bot: Account, eventId: string) => (seen: Seen) =>
  seen.sender === bot.id &&
  seen.type === 'm.room.message' &&
  seen.content['m.relates_to']?.['m.in_reply_to']?.event_id === eventId;

export async function runMatrixKills({
  kills,
  seed,
  told = () => undefined,
}: {
  kills: number;
  seed: number;
  told?: (line: string) => void;
}): Promise<MatrixKillsFound> {
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-kills-'));
  const homeserver = await openSynapse();
  const people: Person[] = [];
  try {
    const accounts = accountsOf(homeserver.url, homeserver.secret);
    const bot = await accounts.register('thirdhand');
    for (const name of ['ines', 'moss'])
      people.push(await personOf(homeserver.url, await accounts.register(name)));
    return await killing({ folder, url: homeserver.url, bot, people, kills, random: seeded(seed), told });
  } finally {
    for (const one of people) one.stop();
    await homeserver.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

interface Killing {
  folder: string;
  url: string;
  bot: Account;
  people: readonly Person[];
  kills: number;
  random: () => number;
  told: (line: string) => void;
}

async function killing({
  folder,
  url,
  bot,
  people,
  kills,
  random,
  told,
}: Killing): Promise<MatrixKillsFound> {
  const data = join(folder, 'data');
  const [ines, moss] = people;
  if (!ines || !moss) throw new Error('nobody is there');
  const wrong: string[] = [];
  const counted: Record<string, number> = {};
  const said: { change: Change; event: string }[] = [];
  const weeks = new Map<string, string>();
  let week: IsoWeek = previousWeek(weekOf(new Date(), 'UTC'));
  let shiftMs = 0;
  let tag = 1000;
  const below = (most: number): number => Math.floor(random() * most);
  const complain = (what: string): void => {
    wrong.push(what);
    told(`WRONG: ${what}`);
  };
  const start = (killAt?: string, step = STEP_MS): Running => {
    shiftMs += step;
    return run({
      arguments: ['--serve', '--data', data],
      environment: { MATRIX_HOMESERVER: url, MATRIX_TOKEN: bot.token },
      killAt,
      shiftMs,
    });
  };
  const mustConnect = async (one: Running): Promise<void> => {
    if (await says(one, 'connected')) return;
    const { code, signal } = await one.ended;
    throw new Error(`no start, but ${code ?? signal}: ${one.out()} ${one.err()}`);
  };
  const endsWell = async (one: Running): Promise<void> => {
    one.child.kill('SIGTERM');
    const { code, signal } = await one.ended;
    if (code !== 0)
      complain(`a start without a kill ended with ${code ?? signal}: ${one.err().slice(0, 400)}`);
  };
  const answerTo = (event: string): Promise<Seen> =>
    until(
      () => ines.seen.find(answers(bot, event)),
      () => `an answer to ${event}`,
    );

  const first = start();
  await mustConnect(first);
  const room = await ines.client.createRoom({ name: 'Tin Shed', invite: [bot.id, moss.id] });
  await moss.joinsInvite();
  await until(
    () => ines.seen.find((one) => one.sender === bot.id && one.type === 'm.room.message'),
    () => 'the bot in the room',
  );
  for (const line of [
    'setup currency:AUD region:AU zone:Australia/Sydney',
    `family name model:"${MODEL}" as:${FAMILY}`,
    `job open "${MODEL}"`,
    'room weekly',
  ])
    await answerTo(await ines.say(room, `!th ${line}`));
  await endsWell(first);

  for (let done = 0; done < kills; done += 1) {
    const moment = (['time', 'before-commit', 'after-commit'] as const)[below(3)] ?? 'time';
    const one = start(moment === 'time' ? undefined : `${moment}:${1 + below(14)}`);
    const timer = moment === 'time' ? setTimeout(one.kill, below(2 * LONGEST_START_MS)) : undefined;
    const end = performance.now() + 2 * LONGEST_START_MS;
    if (below(4) === 0) {
      week = shiftWeek(week, -1);
      weeks.set(formatWeek(week), await ines.say(room, `!th week post ${formatWeek(week)}`));
    }
    for (let i = 0; i < MOST_SAID && one.alive(); i += 1) {
      tag += 1;
      const change: Change = {
        kind: kinds[below(kinds.length)] ?? 'price',
        tag,
        acknowledged: false,
        repeated: false,
      };
      const event = await (below(2) ? ines : moss).say(room, `!th ${lineFor(change.kind, tag).slice(1)}`);
      said.push({ change, event });
      await pause(below(150));
    }
    // Time to get to work on it; where the moment does not come, it is any other.
    while (one.alive() && performance.now() < end) await pause(10);
    one.kill();
    await one.ended;
    clearTimeout(timer);
    counted[`matrix.${moment}`] = (counted[`matrix.${moment}`] ?? 0) + 1;
    for (const { change, event } of said) change.acknowledged = ines.seen.some(answers(bot, event));
    const looked = await look(data, join(folder, 'copy'));
    const { lost, twice } = judge(
      said.map(({ change }) => change),
      looked,
    );
    for (const problem of looked.problems) complain(problem);
    for (const what of lost) complain(`acknowledged, and lost: ${what}`);
    for (const what of twice) complain(`there twice: ${what}`);
    told(`${done + 1} matrix.${moment}: ${said.length} changes`);
  }

  for (let round = 0; round < 3; round += 1) {
    const one = start(undefined, LONG_MS);
    await mustConnect(one);
    for (const event of [...said.map(({ event: id }) => id), ...weeks.values()]) await answerTo(event);
    // The posts that are due go out at the beginning; one more may be under way.
    await pause(5000);
    await endsWell(one);
  }
  for (const { change, event } of said) {
    const seen = ines.seen.filter(answers(bot, event));
    change.acknowledged = true;
    if (seen.length !== 1) complain(`${change.kind} ${change.tag} was answered ${seen.length} times`);
    if (/✗|went wrong/.test(seen[0]?.content.body ?? ''))
      complain(`${change.kind} ${change.tag}: ${seen[0]?.content.body}`);
  }
  const looked = await look(data, join(folder, 'copy'));
  const { lost, twice } = judge(
    said.map(({ change }) => change),
    looked,
  );
  for (const what of [...looked.problems, ...lost, ...twice]) complain(what);
  let weeksPosted = 0;
  for (const name of weeks.keys()) {
    const posts = ines.seen.filter(
      ({ sender, type, content }) =>
        sender === bot.id &&
        type === 'm.room.message' &&
        content['m.relates_to'] === undefined &&
        new RegExp(`\\bweek ${name}\\b`, 'i').test(content.body ?? ''),
    );
    weeksPosted += posts.length;
    if (posts.length !== 1) complain(`week ${name} was posted ${posts.length} times`);
  }
  return {
    kills: counted,
    changes: said.length,
    answers: said.filter(({ event }) => ines.seen.some(answers(bot, event))).length,
    weeksAsked: weeks.size,
    weeksPosted,
    wrong,
  };
}
