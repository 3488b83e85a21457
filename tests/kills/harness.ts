/**
 * Kills the real program (SIGKILL) again and again under mixed load, at the terminal and on the loopback Discord, on one
 * store, and looks after each kill at what is there. Moments: any time from the start on; before and after each commit;
 * before and after each request to Discord arrives, which is between saving an intent and sending, and between sending
 * and noting it.
 */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { REST } from 'discord.js';
import { z } from 'zod';
import { replySchema } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { formatWeek, type IsoWeek, previousWeek, shiftWeek, weekOf } from '../../shared/week/iso-week.ts';
import { postKey } from '../../src/clock/post-once.ts';
import { openSealedStore } from '../../src/store/sealed-store.ts';
import { DEFER_MS } from '../../src/surfaces/discord/interaction-response.ts';
import { markOf } from '../../src/surfaces/discord/poster.ts';
import { register } from '../../src/surfaces/discord/registering.ts';
import { finishJob } from '../clock/finished.ts';
import { seeded } from '../diagnosis/random-problem.ts';
import { DEADLINE_MS, type Interaction } from '../discord/loopback/interactions.ts';
import type { Person } from '../discord/loopback/person.ts';
import { type Fault, type Loopback, openLoopback } from '../discord/loopback/server.ts';
import { type Channel, rights } from '../discord/loopback/world.ts';
import {
  type Change,
  type ChangeKind,
  changeKinds,
  FAMILY,
  judge,
  lineFor,
  look,
  MODEL,
  type Stock,
  stockKinds,
  wordsFor,
} from './ledger.ts';
import { type Running, run, says } from './programs.ts';
import { photoFile, putInStock } from './stock.ts';

export interface KillsParts {
  kills: number;
  seed: number;
  /** In the start in which answers are worked out again each is deferred first, as on a machine that is busy. */
  deferred?: boolean;
  /** Hears of each kill. */
  told?: (line: string) => void;
}

export interface KillsFound {
  /** How many kills came at each moment, on each surface. */
  kills: Record<string, number>;
  changes: number;
  acknowledged: number;
  /** Changes that were there though the kill came before the answer. */
  unheard: number;
  /** "Thinking…" was shown, and then came the kill: Discord takes no second first answer, so it ends there. */
  leftThinking: number;
  /** Requests that were delivered once more under the same id. */
  repeated: number;
  /** Answers that were worked out again and deferred first. */
  deferredAgain: number;
  weeksAsked: number;
  /** Posts that stand in the channel, and in the terminal's folder. */
  weeksPosted: number;
  weeksWritten: number;
  /** What went wrong, in words; empty when nothing did. */
  wrong: string[];
}

const COLLECTIVE = 'Tin Shed';
/** So far the clock moves between two starts: past every wait between two tries. */
const APART_MS = 7 * 3600_000;
/** Replies are kept for a week, and no gateway delivers anything again after that: it is given up after so many starts. */
const GIVEN_UP = Math.floor((6 * 24 * 3600_000) / APART_MS);
const IN_FLIGHT = 4;
const MOST_SAID = 24;
/** At least so many answers are worked out again where that is what is looked at. */
export const ANSWERED_AGAIN = 8;
/** Far above what an answer takes where every core is busy with something else: it ends what hangs. */
const ANSWER_MS = 5 * 60_000;
const LONGEST_START_MS = 1500;

const callbackPath = /^\/interactions\/.*\/callback$/;
type Moment = 'time' | 'before-commit' | 'after-commit' | 'before-send' | 'after-send' | 'in-post';

/** Something said on Discord, with what came of it. */
interface Said {
  change: Change;
  interaction: Interaction;
  /** The number of the start in which it was said. */
  start: number;
}

/** Notes are private. */
const atTerminal = changeKinds.filter((kind) => kind !== 'note');

const titleOf = ({ original, followUps }: Interaction): string => {
  const message = followUps.at(-1) ?? original;
  return message && !message.pending ? String(message.embeds.at(-1)?.title ?? message.content) : '';
};
const deferralSchema = z.object({ type: z.literal([5, 6]) });
/** Whether a first answer says that the answer comes (Discord's interaction callback types 5 and 6). */
const isDeferral = (body: unknown): boolean => deferralSchema.safeParse(body).success;
/** An answer is shown; "thinking" is none. */
const isAnswered = (one: Interaction): boolean => titleOf(one) !== '';
/** As the Discord surface marks a refusal, and begins what it says when something failed. */
const isYes = (title: string): boolean => !/^✗|went wrong|being restarted/.test(title);

export async function runKills({
  kills,
  seed,
  deferred = false,
  told = () => undefined,
}: KillsParts): Promise<KillsFound> {
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-kills-'));
  const loopback = await openLoopback();
  try {
    return await killing({ folder, loopback, kills, random: seeded(seed), deferred, told });
  } finally {
    await loopback.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

interface Killing {
  folder: string;
  loopback: Loopback;
  kills: number;
  random: () => number;
  deferred: boolean;
  told: (line: string) => void;
}

interface Scene {
  weekly: Channel;
  people: { ines: Person; moss: Person; wren: Person };
  direct: Person[];
}

/** A server of the collective, with the commands registered. */
async function sceneOn(loopback: Loopback): Promise<Scene> {
  const { world } = loopback;
  const ines = world.addUser('ines', 'Ines');
  const moss = world.addUser('moss', 'Moss');
  const wren = world.addUser('wren', 'Wren');
  const server = world.addServer(COLLECTIVE, world.addUser('bram', 'Bram'));
  world.join(server, ines, [world.addRole(server, 'Lead', rights.manageServer)]);
  world.join(server, moss);
  world.join(server, wren);
  const channel = world.addChannel(server, 'workshop');
  const weekly = world.addChannel(server, 'week');
  const rest = new REST({ api: loopback.api }).setToken(world.token);
  await register({ rest, application: world.application, commands, server: null });
  const there = { channel: channel.id };
  return {
    weekly,
    people: {
      ines: loopback.person(ines, there),
      moss: loopback.person(moss, there),
      wren: loopback.person(wren, there),
    },
    direct: [loopback.person(ines), loopback.person(moss), loopback.person(wren)],
  };
}

async function killing({ folder, loopback, kills, random, deferred, told }: Killing): Promise<KillsFound> {
  const data = join(folder, 'data');
  const out = join(folder, 'out');
  // A machine that is busy with other things must not turn an answer into a late one.
  loopback.interactions.deadlineMs = 100 * DEADLINE_MS;
  const { weekly, people, direct } = await sceneOn(loopback);
  const changes: Change[] = [];
  const weeks = new Map<string, boolean>();
  const wrong: string[] = [];
  const counted: Record<string, number> = {};
  let stock: Stock = { take: [], returned: [], photo: [], wipe: [], restore: [] };
  const photo = photoFile(folder);
  const everSaid: Said[] = [];
  let unanswered: Said[] = [];
  let starts = 0;
  let tag = 1000;
  let repeated = 0;
  let deferredAgain = 0;
  let unheard = 0;
  let week: IsoWeek = previousWeek(weekOf(new Date(), 'UTC'));

  const below = (most: number): number => Math.floor(random() * most);
  const pick = <T>(list: readonly T[]): T => {
    const found = list[below(list.length)];
    if (found === undefined) throw new Error('nothing to pick from');
    return found;
  };
  const shiftMs = (): number => starts * APART_MS;
  const complain = (what: string): void => {
    wrong.push(what);
    told(`WRONG: ${what}`);
  };

  // --- the program ----------------------------------------------------------------------------------------------------

  const startDiscord = (killAt?: string, deferAtOnce = false): Running => {
    starts += 1;
    // Discord knows a nonce for some minutes, and here hours have passed.
    for (const message of loopback.world.messages.values()) message.nonce = null;
    return run({
      arguments: ['--serve', '--data', data],
      environment: {
        DISCORD_TOKEN: loopback.world.token,
        DISCORD_API: loopback.api,
        ...(deferAtOnce ? { DEFER_AT_ONCE_MS: String(DEFER_MS) } : {}),
      },
      killAt,
      shiftMs: shiftMs(),
    });
  };
  const startTerminal = (given: readonly string[], input = '', killAt?: string): Running =>
    run({
      arguments: ['--data', data, '--collective', COLLECTIVE, '--as', 'Ines:steward', '--json', ...given],
      input,
      killAt,
      shiftMs: shiftMs(),
    });

  const mustConnect = async (one: Running): Promise<void> => {
    if (await says(one, 'connected')) return;
    const { code, signal } = await one.ended;
    throw new Error(`no start, but ${code ?? signal}: ${one.out()} ${one.err()}`);
  };
  /** One that was not to be killed has to end well. */
  const endsWell = async (one: Running, what: string): Promise<void> => {
    const { code, signal } = await one.ended;
    if (code !== 0) complain(`${what} ended with ${code ?? signal}: ${one.err().slice(0, 400)}`);
  };

  // --- what is said ----------------------------------------------------------------------------------------------------

  const isStock = (kind: ChangeKind): kind is keyof Stock => stockKinds.some((one) => one === kind);
  const newChange = (kinds: readonly ChangeKind[] = changeKinds): Change => {
    const kind = pick(kinds.filter((one) => !isStock(one) || (stock[one].length ?? 0) > 0));
    tag += 1;
    const own = isStock(kind) ? (stock[kind].pop() ?? tag) : tag;
    const change: Change = { kind, tag: own, acknowledged: false, repeated: false };
    changes.push(change);
    return change;
  };

  const sayOnDiscord = (): Said => {
    const change = newChange();
    const [command, action, options] = wordsFor(change.kind, change.tag);
    // What is a steward's is said by one.
    const ofSteward = change.kind === 'wipe' || change.kind === 'restore';
    const speaker =
      change.kind === 'note' ? pick(direct) : ofSteward ? people.ines : pick(Object.values(people));
    const given = change.kind === 'photo' ? { ...options, file: photo } : options;
    const said = { change, interaction: speaker.start(command, action, given), start: starts };
    everSaid.push(said);
    return said;
  };

  /** Sends what was not answered once more, under the same id, as a gateway does that heard of no receipt. */
  const repeat = ({ interaction, change }: Said): void => {
    change.repeated = true;
    repeated += 1;
    interaction.sentAt = performance.now();
    loopback.interactions.repeat(interaction);
  };

  const note = (said: readonly Said[]): void => {
    for (const { change, interaction } of said) {
      const title = titleOf(interaction);
      if (title && isYes(title)) change.acknowledged = true;
      else if (title) complain(`${change.kind} ${change.tag} was refused: ${title}`);
    }
  };

  const askForWeek = (): Interaction => {
    week = shiftWeek(week, -1);
    weeks.set(formatWeek(week), false);
    return people.ines.start('week', 'post', { week: formatWeek(week) });
  };

  // --- kills -----------------------------------------------------------------------------------------------------------

  /** Kills the program when a request reaches the loopback: before it does anything, or when it has, without a receipt. */
  const strikeAt = (moment: Moment, one: Running): void => {
    const post = moment === 'in-post';
    const before = moment === 'before-send' || (post && below(2) === 0);
    const fault: Fault = {
      method: 'POST',
      path: post ? new RegExp(`^/channels/${weekly.id}/messages$`) : callbackPath,
      do: before ? 'cut before' : 'cut after',
      struck: one.kill,
    };
    const skip = post ? 0 : below(8);
    if (skip === 0) loopback.faults.push(fault);
    else {
      // The first ones arrive.
      let left = skip;
      const count = setInterval(() => {
        left = skip - loopback.requests('POST', callbackPath).length + base;
        if (left > 0 && one.alive()) return;
        clearInterval(count);
        if (one.alive()) loopback.faults.push(fault);
      }, 2);
      const base = loopback.requests('POST', callbackPath).length;
    }
  };

  const momentOf = (moments: readonly Moment[]): { moment: Moment; killAt?: string } => {
    const moment = pick(moments);
    return moment === 'before-commit' || moment === 'after-commit'
      ? { moment, killAt: `${moment}:${1 + below(14)}` }
      : { moment };
  };

  const discordRound = async (): Promise<string> => {
    const { moment, killAt } = momentOf([
      'time',
      'before-commit',
      'after-commit',
      'before-send',
      'after-send',
      'in-post',
    ]);
    const one = startDiscord(killAt);
    const timer = moment === 'time' ? setTimeout(one.kill, below(2 * LONGEST_START_MS)) : undefined;
    if (moment === 'before-send' || moment === 'after-send' || moment === 'in-post') strikeAt(moment, one);
    // Now and then somebody works at the terminal on the same store meanwhile.
    const beside = below(3) === 0 ? terminalBeside() : null;
    const said: Said[] = [];
    if (await says(one, 'connected')) {
      for (const before of unanswered) repeat(before);
      const asked = below(3) === 0 && one.alive() ? askForWeek() : null;
      while (one.alive() && said.length < MOST_SAID) {
        const waiting = said.filter(({ interaction }) => !isAnswered(interaction)).length;
        if (waiting < IN_FLIGHT) said.push(sayOnDiscord());
        await pause(below(12));
      }
      // The moment did not come: then it is any other.
      if (moment !== 'time' || said.length >= MOST_SAID) one.kill();
      await one.ended;
      if (asked && isAnswered(asked)) {
        if (isYes(titleOf(asked))) weeks.set(formatWeek(week), true);
        else complain(`week ${formatWeek(week)} was refused: ${titleOf(asked)}`);
      }
    }
    await one.ended;
    clearTimeout(timer);
    loopback.faults.length = 0;
    // What had left the process before it died still arrives.
    await pause(30);
    if (beside) await beside;
    note([...unanswered, ...said]);
    unanswered = [...unanswered, ...said].filter(
      ({ interaction, start }) => interaction.callback === null && starts - start < GIVEN_UP,
    );
    return `discord.${moment}`;
  };

  /** What the terminal has answered so far. */
  const hear = (one: Running, said: readonly Change[]): void => {
    const lines = one.out().split('\n').slice(0, -1);
    for (const [index, line] of lines.entries()) {
      const change = said[index];
      if (!change) continue;
      const read = replySchema.parse(JSON.parse(line));
      if (read.outcome === 'answered') change.acknowledged = true;
      else complain(`${change.kind} ${change.tag} was refused: ${read.title}`);
    }
  };

  const terminalBeside = async (): Promise<void> => {
    const said = Array.from({ length: 6 }, () => newChange(atTerminal));
    const one = startTerminal(
      [],
      said.map(({ kind, tag: number }) => `${lineFor(kind, number, photo.path)}\n`).join(''),
    );
    await endsWell(one, 'the terminal beside');
    hear(one, said);
  };

  const terminalRound = async (): Promise<string> => {
    starts += 1;
    const { moment, killAt } = momentOf(['time', 'before-commit', 'after-commit']);
    const way = pick(['stdin', 'run', 'tick'] as const);
    const said = Array.from({ length: way === 'tick' ? 2 : 12 }, () => newChange(atTerminal));
    const lines = said.map(({ kind, tag: number }) => lineFor(kind, number, photo.path));
    const given = way === 'stdin' ? [] : lines.flatMap((line) => ['--run', line]);
    const tick = way === 'tick' ? ['--tick', '--save', out] : [];
    const one = startTerminal([...given, ...tick], way === 'stdin' ? `${lines.join('\n')}\n` : '', killAt);
    const timer = moment === 'time' ? setTimeout(one.kill, below(LONGEST_START_MS)) : undefined;
    await one.ended;
    clearTimeout(timer);
    hear(one, said);
    return one.child.signalCode === 'SIGKILL' ? `terminal.${moment}` : 'ended.first';
  };

  // --- what is there afterwards ------------------------------------------------------------------------------------------

  const lookNow = async (): Promise<void> => {
    if (!existsSync(join(data, 'thirdhand.sqlite'))) return;
    const looked = await look(data, join(folder, 'copy'));
    const { lost, twice, unheard: quiet } = judge(changes, looked);
    for (const problem of looked.problems) complain(problem);
    for (const one of lost) complain(`acknowledged, and lost: ${one}`);
    for (const one of twice) complain(`there twice: ${one}`);
    unheard = Math.max(unheard, quiet);
  };

  /** Each interaction has one answer at most, and what was sent again was answered with the same. */
  const lookAtAnswers = (): void => {
    for (const { interaction, change } of everSaid) {
      const shown = [interaction.original, ...interaction.followUps].filter((one) => one?.embeds.length);
      if (shown.length > 1) complain(`${change.kind} ${change.tag} was answered ${shown.length} times`);
    }
  };

  /** First answers to an interaction that the bot has sent so far, deferrals among them. */
  const triesOf = ({ id }: Interaction) =>
    loopback.requests('POST', new RegExp(`^/interactions/${id}/`)).filter(({ body }) => body !== null);
  /** What the bot has said in answer to it, whichever way: in a first answer, or where a deferred one stands. */
  const titlesSaid = ({ id, token }: Interaction): string[] =>
    loopback.log
      .filter(({ path }) => path.startsWith(`/interactions/${id}/`) || path.includes(token))
      .flatMap(({ body }) => /"title":"([^"]*)"/.exec(JSON.stringify(body))?.[1] ?? []);

  /** The answered ones once more: the bot works out the same answer from what it kept, and changes nothing. */
  const repeatAnswered = async (some: readonly Said[]): Promise<void> => {
    const before = new Map(some.map(({ interaction }) => [interaction, triesOf(interaction).length]));
    for (const said of some) repeat(said);
    const until = performance.now() + ANSWER_MS;
    for (const { interaction, change } of some) {
      const tried = () => triesOf(interaction).length > (before.get(interaction) ?? 0);
      while (!tried() && performance.now() < until) await pause(10);
      if (!tried()) complain(`${change.kind} ${change.tag} came again, and was not answered`);
      const again = triesOf(interaction).slice(before.get(interaction));
      if (again.some(({ body }) => isDeferral(body))) deferredAgain += 1;
      // What a private command showed is not kept: it says that it was answered.
      if (change.kind === 'note') continue;
      // Where the machine is busy the second answer is deferred: that says nothing, and Discord takes no more of it.
      const words = titlesSaid(interaction);
      if (new Set(words).size > 1)
        complain(`${change.kind} ${change.tag} was answered anew: ${words.join(' | ')}`);
    }
  };

  const prepare = async (): Promise<void> => {
    const one = startDiscord();
    await mustConnect(one);
    await people.ines.use('server', 'weekly', { channel: weekly.id });
    await people.ines.use('family', 'name', { model: MODEL, as: FAMILY });
    // Each has a home for direct messages once they have spoken.
    for (const person of Object.values(people))
      await person.use('job', 'open', { model: MODEL, ownership: 'shown', lock: 'free', stolen: 'clear' });
    one.child.kill('SIGTERM');
    await endsWell(one, 'the first start');
    const { database } = openSealedStore({ data });
    const collective = database.collectives.find(COLLECTIVE);
    if (!collective) throw new Error('no collective');
    const endedAt = new Date(Date.now() - 6 * 24 * 3600_000).toISOString();
    const store = database.of(collective);
    finishJob(store, { endedAt, openedAt: endedAt, paid: 0 });
    stock = putInStock(store, 30 + 3 * kills);
    database.close();
  };

  /** A start without a kill, in which so many things are said and answered. */
  const sayUndisturbed = async (count: number): Promise<void> => {
    const one = startDiscord();
    await mustConnect(one);
    const said = Array.from({ length: count }, sayOnDiscord);
    const until = performance.now() + ANSWER_MS;
    while (said.some(({ interaction }) => !isAnswered(interaction)) && performance.now() < until)
      await pause(10);
    note(said);
    one.child.kill('SIGTERM');
    await endsWell(one, 'a start without a kill');
  };

  /** Starts until nothing is left to be sent, and ends in order. */
  const settle = async (): Promise<void> => {
    for (let round = 0; round < 2; round += 1) {
      const answered = everSaid
        .filter(({ interaction }) => isAnswered(interaction))
        .filter(({ start }) => starts - start < GIVEN_UP)
        .slice(-20);
      const one = startDiscord(undefined, deferred && round === 0);
      await mustConnect(one);
      for (const before of unanswered) repeat(before);
      const until = performance.now() + ANSWER_MS;
      while (unanswered.some(({ interaction }) => !isAnswered(interaction)) && performance.now() < until)
        await pause(10);
      for (const { change, interaction } of unanswered)
        if (!isAnswered(interaction)) complain(`${change.kind} ${change.tag} was never answered`);
      note(unanswered);
      unanswered = [];
      if (round === 0) await repeatAnswered(answered);
      one.child.kill('SIGTERM');
      await endsWell(one, 'a start without a kill');
      starts += 1;
      await endsWell(startTerminal(['--tick', '--save', out]), 'a tick without a kill');
    }
  };

  /** Each week that was asked for, or came due, is in the channel once, and in the folder whole. */
  const lookAtWeeks = (): { posted: number; written: number } => {
    const { database } = openSealedStore({ data, makeKey: false });
    const collective = database.collectives.find(COLLECTIVE);
    if (!collective) throw new Error('no collective');
    const store = database.of(collective);
    const footers = loopback.world
      .seenIn(weekly.id)
      .flatMap(({ embeds }) => embeds.at(-1)?.footer ?? [])
      .map((footer) => JSON.stringify(footer));
    const standing = (name: string) =>
      footers.filter((footer) => footer.includes(markOf(postKey(collective, name)))).length;
    const files = existsSync(out) ? readdirSync(out).filter((name) => name.endsWith('.md')) : [];
    for (const [name, acknowledged] of weeks) {
      const times = standing(name);
      if (times > 1 || (acknowledged && times === 0)) complain(`week ${name} was posted ${times} times`);
    }
    const rows = store.weeks.listOf(`discord:${weekly.id}`, '');
    for (const { week: name, state } of rows)
      if (state !== 'sent' || standing(name) !== 1)
        complain(`week ${name} is ${state}, and posted ${standing(name)} times`);
    if (footers.length !== rows.length) complain(`${footers.length} posts of ${rows.length} weeks`);
    for (const { week: name, state, message } of store.weeks.listOf('terminal', '')) {
      const text = message && files.includes(message) ? readFileSync(join(out, message), 'utf8') : '';
      if (state !== 'sent' || !text.includes(name)) complain(`week ${name} at the terminal is ${state}`);
    }
    database.close();
    return { posted: footers.length, written: files.length };
  };

  await prepare();
  for (let done = 0; done < kills; ) {
    const kind = below(10) < 6 ? await discordRound() : await terminalRound();
    if (kind === 'ended.first') {
      counted[kind] = (counted[kind] ?? 0) + 1;
      continue;
    }
    done += 1;
    counted[kind] = (counted[kind] ?? 0) + 1;
    await lookNow();
    told(`${done} ${kind}: ${changes.length} changes, ${unanswered.length} unanswered`);
  }
  if (deferred) await sayUndisturbed(ANSWERED_AGAIN);
  await settle();
  await lookNow();
  lookAtAnswers();
  const { posted, written } = lookAtWeeks();
  for (const one of loopback.problems) complain(one);
  return {
    kills: counted,
    changes: changes.length,
    acknowledged: changes.filter(({ acknowledged }) => acknowledged).length,
    unheard,
    leftThinking: everSaid.filter(
      ({ interaction }) => interaction.callback !== null && !isAnswered(interaction),
    ).length,
    repeated,
    deferredAgain,
    weeksAsked: [...weeks.values()].filter(Boolean).length,
    weeksPosted: posted,
    weeksWritten: written,
    wrong,
  };
}
