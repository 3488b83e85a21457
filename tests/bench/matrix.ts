/**
 * How long an answer takes on Matrix: from the sending of a command to the answer in the asker's own sync, through a real
 * Synapse, beside a bare matrix-bot-sdk bot that answers a constant. Both in the same run, in turns, on the same machine:
 * the ratio says something, the milliseconds are of this machine at this moment.
 *
 * By hand: `npm run node tests/bench/matrix.ts`. Needs Python 3 with PyPI, as the homeserver tests do.
 */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import { z } from 'zod';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { createClient } from '../../src/surfaces/matrix/client.ts';
import { loadSdk } from '../../src/surfaces/matrix/load-sdk.ts';
import { startMatrix } from '../../src/surfaces/matrix/start.ts';
import { type Account, accountsOf, openSynapse, prepareSynapse } from '../homeserver/synapse.ts';
import { testSealer } from '../sealer.ts';

const ROUNDS = 200;
const WARM_UP = 20;

const quantile = (values: readonly number[], p: number): number =>
  [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(p * values.length))] ?? Number.NaN;
const round = (value: number): number => Math.round(value * 1000) / 1000;

const answerSchema = z.object({
  type: z.literal('m.room.message'),
  content: z.object({
    body: z.string(),
    'm.relates_to': z.object({ 'm.in_reply_to': z.object({ event_id: z.string() }) }),
  }),
});
const commandSchema = z.object({
  event_id: z.string(),
  content: z.object({ msgtype: z.literal('m.text'), body: z.string() }),
});

/** What the SDK's own readme makes: a client that syncs, and answers a constant to what begins with `!bare`. */
async function startBareBot(url: string, account: Account): Promise<{ stop(): void }> {
  const sdk = loadSdk();
  const client = new sdk.MatrixClient(url, account.token, new sdk.MemoryStorageProvider());
  sdk.AutojoinRoomsMixin.setupOnClient(client);
  client.on('room.message', (room: string, raw: unknown) => {
    const event = commandSchema.safeParse(raw).data;
    if (!event?.content.body.startsWith('!bare')) return;
    void client.sendMessage(room, {
      msgtype: 'm.notice',
      body: 'Pass.',
      'm.relates_to': { 'm.in_reply_to': { event_id: event.event_id } },
    });
  });
  await client.start();
  return client;
}

interface Asker {
  ask(room: string, line: string): Promise<{ ms: number; body: string }>;
  room(invite: string): Promise<string>;
  stop(): void;
}

async function startAsker(url: string, account: Account): Promise<Asker> {
  const answers = new Map<string, { at: bigint; body: string }>();
  const waiting = new Map<string, () => void>();
  const client = createClient({
    homeserver: url,
    token: account.token,
    startAt: null,
    onInvite: () => {},
    onState: () => {},
    onGap: () => {},
    onEvent: (_, raw) => {
      const event = answerSchema.safeParse(raw).data;
      if (!event) return;
      const asked = event.content['m.relates_to']['m.in_reply_to'].event_id;
      if (answers.has(asked)) return;
      answers.set(asked, { at: process.hrtime.bigint(), body: event.content.body });
      waiting.get(asked)?.();
    },
    onBatch: () => {},
    onFault: () => {},
  });
  await client.start();
  return {
    ask: async (room, line) => {
      const from = process.hrtime.bigint();
      const asked = await client.sendRawEvent(room, 'm.room.message', { msgtype: 'm.text', body: line });
      if (!answers.has(asked)) {
        await new Promise<void>((resolve, reject) => {
          const timer = setTimeout(() => reject(new Error(`no answer to ${line}`)), 30_000);
          waiting.set(asked, () => {
            clearTimeout(timer);
            resolve();
          });
        });
      }
      const answer = answers.get(asked);
      if (!answer) throw new Error(`no answer to ${line}`);
      return { ms: Number(answer.at - from) / 1e6, body: answer.body };
    },
    room: async (invite) => {
      const made = await client.createRoom({ name: 'Bench', invite: [invite] });
      for (let tries = 0; tries < 200; tries += 1) {
        if ((await client.getJoinedRoomMembers(made)).includes(invite)) return made;
        await pause(50);
      }
      throw new Error(`${invite} did not join`);
    },
    stop: () => client.stop(),
  };
}

/** Figures by name; null, with the reason on stderr, where there is no Synapse. */
export async function matrixFigures(rounds = ROUNDS): Promise<Record<string, number> | null> {
  const missing = prepareSynapse();
  if (missing !== null) {
    process.stderr.write(`No Matrix figures: ${missing}.\n`);
    return null;
  }
  const homeserver = await openSynapse();
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-bench-'));
  const closing: (() => unknown)[] = [];
  try {
    const accounts = accountsOf(homeserver.url, homeserver.secret);
    const bareAccount = await accounts.register('bare');
    const ownAccount = await accounts.register('thirdhand');
    const bare = await startBareBot(homeserver.url, bareAccount);
    closing.push(() => bare.stop());
    const database = openDatabase(join(folder, 'store.sqlite'), testSealer);
    closing.push(() => database.close());
    const makeId = () => randomBytes(12).toString('base64url');
    const faults: unknown[] = [];
    const log = (_: string, error: unknown) => faults.push(error);
    const surface = await startMatrix({
      settings: {
        homeserver: homeserver.url,
        token: ownAccount.token,
        allow: null,
        prefix: '!th',
        stewardLevel: 50,
        recoveryKey: null,
        adminRoom: null,
      },
      database,
      dispatcher: createDispatcher({ database, knowledge: loadKnowledge(), commands, makeId, log }),
      commands,
      makeId,
      clock: () => new Date(),
      log,
      drawFile,
    });
    closing.push(() => surface.stop());
    const asker = await startAsker(homeserver.url, await accounts.register('ines'));
    closing.push(() => asker.stop());
    const bareRoom = await asker.room(bareAccount.id);
    const ownRoom = await asker.room(ownAccount.id);
    await asker.ask(ownRoom, '!th setup currency:AUD region:AU');
    await asker.ask(
      ownRoom,
      '!th family name model:"Orrin K3" as:glued-front-home-sensor launched:2020-01 new-price:749',
    );
    for (let price = 120; price < 132; price += 1)
      await asker.ask(ownRoom, `!th prices add "Orrin K3" price:${price}`);

    const figures: Record<string, number> = {};
    /** In turns, so that whatever else the machine does meets both alike; `rest` lets the reactions of a reply be laid out. */
    const compare = async (name: string, count: number, rest: number, line: (i: number) => string) => {
      const ours: number[] = [];
      const floor: number[] = [];
      for (let i = -WARM_UP; i < count; i += 1) {
        const constant = await asker.ask(bareRoom, `!bare ${i}`);
        const answer = await asker.ask(ownRoom, line(i));
        if (answer.body.startsWith('✗')) throw new Error(`refused: ${answer.body}`);
        if (rest) await pause(rest);
        if (i < 0) continue;
        floor.push(constant.ms);
        ours.push(answer.ms);
      }
      for (const [key, p] of [
        ['p50', 0.5],
        ['p99', 0.99],
      ] as const) {
        figures[`matrix.${name}.bare.${key}ms`] = round(quantile(floor, p));
        figures[`matrix.${name}.${key}ms`] = round(quantile(ours, p));
        figures[`matrix.${name}.${key}.ratio`] = round(quantile(ours, p) / quantile(floor, p));
      }
    };
    await compare('worth', rounds, 0, (i) => `!th worth "Orrin K3" price:${40 + (i % 50)}`);
    await compare('caution', rounds, 0, () => '!th caution swollen-cell');
    await compare('trace', Math.ceil(rounds / 4), 1500, () => '!th trace "no charge" model:"Orrin K3"');
    if (faults.length) throw new Error(`the bot logged ${String(faults[0])}`);
    return figures;
  } finally {
    for (const close of closing.reverse()) await close();
    await homeserver.close();
    rmSync(folder, { recursive: true });
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const figures = await matrixFigures();
  for (const [name, value] of Object.entries(figures ?? {})) process.stdout.write(`${name}  ${value}\n`);
}
