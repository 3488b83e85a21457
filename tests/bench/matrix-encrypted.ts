/**
 * How long an answer takes in an encrypted room: from the sending of `/worth` to the answer, read, in the asker's own sync,
 * through a real Synapse, beside a bare bot on matrix-js-sdk that answers a constant in an encrypted room of its own. In turns
 * and in one run, so that the ratio says something. And what is written to the store of keys for one question and answer.
 *
 * By hand: `npm run node tests/bench/matrix-encrypted.ts`. Needs Python 3 with PyPI, as the homeserver tests do.
 */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { type MatrixEvent, MatrixEventEvent } from 'matrix-js-sdk';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { type Database, openDatabase } from '../../shared/store/index.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { startMatrix } from '../../src/surfaces/matrix/start.ts';
import { type SealedPerson, sealedPersonOf, sealedState } from '../homeserver/sealed-people.ts';
import { type Account, accountsOf, openSynapse, prepareSynapse } from '../homeserver/synapse.ts';
import { testSealer } from '../sealer.ts';

const ROUNDS = 150;
const WARM_UP = 15;

const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
const round = (value: number): number => Math.round(value * 1000) / 1000;

/** What an encrypted event says, once it can be read. */
const bodyOf = (event: MatrixEvent): string => String(event.getContent().body ?? '');

async function startBareBot(url: string, account: Account): Promise<SealedPerson> {
  const bot = await sealedPersonOf(url, account, { signed: true });
  bot.client.on(MatrixEventEvent.Decrypted, (event) => {
    const room = event.getRoomId() ?? '';
    if (bodyOf(event).startsWith('!bare')) void bot.reply(room, event.getId() ?? '', 'Pass.');
  });
  return bot;
}

/** Asks, and gives the milliseconds until the answer could be read. */
async function timed(asker: SealedPerson, room: string, bot: string, line: string): Promise<number> {
  const from = process.hrtime.bigint();
  let body = '';
  let done: (at: bigint) => void = () => {};
  const answered = new Promise<bigint>((resolve) => {
    done = resolve;
  });
  const note = (event: MatrixEvent): void => {
    if (event.getSender() !== bot || event.getRoomId() !== room || event.isDecryptionFailure()) return;
    body = bodyOf(event);
    done(process.hrtime.bigint());
  };
  asker.client.on(MatrixEventEvent.Decrypted, note);
  await asker.say(room, line);
  const at = await answered;
  asker.client.off(MatrixEventEvent.Decrypted, note);
  if (body.startsWith('✗')) throw new Error(`refused: ${body}`);
  return Number(at - from) / 1e6;
}

/** The same database, with the bytes counted that go to the store of keys. */
function counting(database: Database): { database: Database; bytes(): number } {
  let bytes = 0;
  const { sealedRecords } = database;
  return {
    database: {
      ...database,
      sealedRecords: {
        all: sealedRecords.all,
        write: (space, changes) => {
          // Base64 within the seal, and the seal in base64.
          for (const { records } of changes.values())
            for (const record of records.values()) bytes += Math.ceil(((record?.length ?? 0) * 16) / 9);
          sealedRecords.write(space, changes);
        },
      },
    },
    bytes: () => bytes,
  };
}

/** Figures by name; null, with the reason on stderr, where there is no Synapse. */
export async function encryptedFigures(rounds = ROUNDS): Promise<Record<string, number> | null> {
  const missing = prepareSynapse();
  if (missing !== null) {
    process.stderr.write(`No figures of encrypted rooms: ${missing}.\n`);
    return null;
  }
  const homeserver = await openSynapse();
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-bench-'));
  const closing: (() => unknown)[] = [];
  try {
    const { url } = homeserver;
    const accounts = accountsOf(url, homeserver.secret);
    const [bareAccount, ownAccount] = [await accounts.register('bare'), await accounts.register('thirdhand')];
    const bare = await startBareBot(url, bareAccount);
    closing.push(() => bare.stop());
    const opened = openDatabase(join(folder, 'store.sqlite'), testSealer);
    closing.push(() => opened.close());
    const { database, bytes } = counting(opened);
    const makeId = () => randomBytes(12).toString('base64url');
    const log = (_: string, error: unknown) => {
      throw new Error(`the bot logged ${String(error)}`);
    };
    const surface = await startMatrix({
      settings: {
        homeserver: url,
        token: ownAccount.token,
        recoveryKey: null,
        adminRoom: null,
        allow: null,
        prefix: '!th',
        stewardLevel: 50,
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
    const asker = await sealedPersonOf(url, await accounts.register('ines'));
    closing.push(() => asker.stop());
    const roomWith = (invited: string) =>
      asker.makesRoom({ name: 'Bench', invite: [invited], initial_state: sealedState });
    const bareRoom = await roomWith(bareAccount.id);
    await bare.joinsInvite();
    const ownRoom = await roomWith(ownAccount.id);
    await asker.sees((seen) => (seen.content.body ?? '').includes('Thirdhand is here'), 'the bot');
    const ask = (line: string) => timed(asker, ownRoom, ownAccount.id, line);
    await ask('!th setup currency:AUD region:AU');
    await ask('!th family name model:"Orrin K3" as:glued-front-home-sensor launched:2020-01 new-price:749');
    for (let price = 120; price < 132; price += 1) await ask(`!th prices add "Orrin K3" price:${price}`);

    const [ours, floor]: [number[], number[]] = [[], []];
    let before = 0;
    for (let i = -WARM_UP; i < rounds; i += 1) {
      if (i === 0) before = bytes();
      const constant = await timed(asker, bareRoom, bareAccount.id, `!bare ${i}`);
      const answer = await ask(`!th worth "Orrin K3" price:${40 + (Math.abs(i) % 50)}`);
      if (i < 0) continue;
      floor.push(constant);
      ours.push(answer);
    }
    return {
      'matrix.encrypted.worth.bare.p50ms': round(median(floor)),
      'matrix.encrypted.worth.p50ms': round(median(ours)),
      'matrix.encrypted.worth.p50.ratio': round(median(ours) / median(floor)),
      'matrix.encrypted.keys.bytes': Math.round((bytes() - before) / rounds),
    };
  } finally {
    for (const close of closing.reverse()) await close();
    await homeserver.close();
    rmSync(folder, { recursive: true });
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const figures = await encryptedFigures();
  for (const [name, value] of Object.entries(figures ?? {})) process.stdout.write(`${name}  ${value}\n`);
}
