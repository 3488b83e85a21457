/** Encrypted rooms, with an independent client that trusts cross-signed devices only. */

import { createCipheriv, createDecipheriv, createHash, randomBytes } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { openDatabase } from '../../shared/store/index.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { checkMatrix } from '../../src/surfaces/matrix/check.ts';
import { readRecoveryKey } from '../../src/surfaces/matrix/encryption/recovery-key.ts';
import { greyJpeg } from '../photos/grey-jpeg.ts';
import { reply, text } from '../plain-reply.ts';
import { testSealer } from '../sealer.ts';
import { startBot } from './bot.ts';
import type { AnyPerson, Seen } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';
import { type SealedPerson, sealedPersonOf, sealedState } from './sealed-people.ts';

/** A picture of one pixel, as PNG. */
const PIXEL = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==',
  'base64',
);
const week = (words: string) =>
  reply({
    title: words,
    blocks: [text('Three phones went back into use.')],
    files: [
      { name: 'week.png', mime: 'image/png', alt: 'Three bars', draw: { kind: 'week-chart', data: {} } },
    ],
  });
const sealedFile = z.object({
  url: z.string(),
  iv: z.string(),
  key: z.object({ k: z.string() }),
});
const rawSchema = z.object({
  type: z.string(),
  content: z.looseObject({ session_id: z.string().optional() }),
});

/** Encrypted as the specification says ("Sending encrypted attachments"), by Node's own ciphers. */
function sealedByHand(bytes: Buffer) {
  const key = randomBytes(32);
  const iv = Buffer.concat([randomBytes(8), Buffer.alloc(8)]);
  const cipher = createCipheriv('aes-256-ctr', key, iv);
  const sealed = Buffer.concat([cipher.update(bytes), cipher.final()]);
  const bare = (one: Buffer) => one.toString('base64').replace(/=+$/, '');
  return {
    bytes: sealed,
    file: {
      v: 'v2',
      key: {
        kty: 'oct',
        alg: 'A256CTR',
        ext: true,
        key_ops: ['encrypt', 'decrypt'],
        k: key.toString('base64url'),
      },
      iv: bare(iv),
      hashes: { sha256: bare(createHash('sha256').update(sealed).digest()) },
    },
  };
}
function openedByHand(sealed: Buffer, key: string, iv: string): Buffer {
  const opened = createDecipheriv('aes-256-ctr', Buffer.from(key, 'base64url'), Buffer.from(iv, 'base64'));
  return Buffer.concat([opened.update(sealed), opened.final()]);
}

const NOTE = 'the spare key hangs behind the heat gun';

describe.skipIf(absent)('encrypted rooms, to a client that trusts cross-signed devices only', () => {
  let scene: Scene;
  let folder: string;
  let ines: SealedPerson;
  let room: string;
  const people: AnyPerson[] = [];
  const unique = () => Math.random().toString(36).slice(2, 8);
  const newcomer = async (name: string, signed = true): Promise<SealedPerson> => {
    const made = await sealedPersonOf(scene.url, await scene.accounts.register(`${name}-${unique()}`), {
      signed,
    });
    people.push(made);
    return made;
  };
  const makeRoom = async (who: SealedPerson, more: object = {}): Promise<string> => {
    const made = await who.makesRoom({
      name: `Sealed ${unique()}`,
      invite: [scene.bot.surface.id],
      initial_state: sealedState,
      ...more,
    });
    await scene.hears(who, made, 'Thirdhand is here');
    return made;
  };
  /** Asks, and sees that the answer came encrypted. */
  const ask = async (who: SealedPerson, where: string, line: string): Promise<Seen> => {
    const answer = await scene.ask(who, where, line);
    expect(answer.sealed, `${line}: encrypted`).toBe(true);
    return answer;
  };

  const get = async (who: SealedPerson, path: string): Promise<Response> =>
    fetch(`${scene.url}/_matrix/client/${path}`, {
      headers: { authorization: `Bearer ${who.client.getAccessToken()}` },
    });
  /** An event as the homeserver has it. */
  const rawOf = async (where: string, eventId: string) => {
    const path = ['rooms', where, 'event', eventId].map(encodeURIComponent).join('/');
    return rawSchema.parse(await (await get(ines, `v3/${path}`)).json());
  };

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'thirdhand-sealed-'));
    const database = openDatabase(join(folder, 'store.sqlite'), testSealer);
    scene = await openScene(
      {},
      {
        database,
        drawFile: async (file) => (file.draw && file.draw.kind !== 'photo' ? PIXEL : drawFile(file)),
      },
    );
    ines = await newcomer('ines');
    room = await makeRoom(ines);
  });
  afterAll(async () => {
    for (const one of people) one.stop();
    await scene?.end();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });

  it('are set up, and commands are answered there', async () => {
    expect((await ask(ines, room, '!th setup currency:AUD region:AU')).content.body).toContain('collective');
    await ask(
      ines,
      room,
      '!th family name "Orrin K3" as:glued-front-home-sensor launched:2020-01 new-price:749',
    );
    expect((await ask(ines, room, '!th worth "Orrin K3" price:20')).content.body).toContain('worth up to');
    expect(ines.unreadIn(room)).toEqual([]);
  });

  it('have a trace to its end by reactions', async () => {
    let asked = await ask(ines, room, '!th trace "no charge" model:"Orrin K3"');
    for (let step = 0; step < 12 && asked.content.body?.includes('Answer with a reaction'); step += 1) {
      const at = ines.seen.length;
      await ines.react(room, asked.event_id, '1️⃣');
      asked = await ines.sees(
        (seen) =>
          seen.sender === scene.bot.surface.id && seen.type === 'm.room.message' && seen.sealed === true,
        'the next step',
        at,
      );
    }
    expect(asked.content.body).toMatch(/Trace 1/);
    expect(ines.unreadIn(room)).toEqual([]);
  });

  it('answer the first !th help of somebody new, in a direct room that the bot makes', async () => {
    const bram = await newcomer('bram');
    await ines.client.invite(room, bram.id);
    await bram.joinsInvite();
    expect((await ask(bram, room, '!th help')).content.body).toContain('I answered you in our direct room');
    const direct = await bram.joinsInvite((one) => one !== room);
    const help = await scene.hears(bram, direct, 'What you can say');
    expect(help.sealed).toBe(true);
    expect(bram.unreadIn(direct)).toEqual([]);
  });

  it('keep a private note private, in a direct room of the person', async () => {
    const direct = await makeRoom(ines, { is_direct: true, name: undefined });
    expect((await ask(ines, direct, `note add "${NOTE}"`)).content.body).not.toMatch(/^✗/);
    expect((await ask(ines, direct, 'note list')).content.body).toContain(NOTE);
  });

  it('are read after a restart, with what was said while the bot was down', async () => {
    await scene.bot.stop();
    const asked = await ines.say(room, '!th caution swollen-cell');
    await scene.bot.start();
    const answer = await scene.answerTo(ines, room, asked);
    expect(answer.sealed).toBe(true);
    await ask(ines, room, '!th job list');
    expect(ines.unreadIn(room)).toEqual([]);
  });

  it('hear a second person whose device is not verified, and answer her', async () => {
    const moss = await newcomer('moss', false);
    await ines.client.invite(room, moss.id);
    await moss.joinsInvite();
    expect((await ask(moss, room, '!th family list')).content.body).toContain('Orrin K3');
  });

  it('get a new key when somebody has left', async () => {
    const bram = await newcomer('bram');
    await ines.client.invite(room, bram.id);
    await bram.joinsInvite();
    const sessionOf = async (): Promise<string | undefined> =>
      (await rawOf(room, (await ask(ines, room, '!th family list')).event_id)).content.session_id;
    await sessionOf();
    const before = await sessionOf();
    expect(before).toMatch(/.{40}/);
    expect(await sessionOf()).toBe(before);
    await bram.client.leave(room);
    await ines.sees((seen) => seen.state_key === bram.id && seen.content.membership === 'leave', 'him leave');
    expect(await sessionOf()).not.toBe(before);
  });

  it('take a photo as any other: kept drawn anew, and shown encrypted', async () => {
    await ask(ines, room, '!th job open "Orrin K3" came:given symptoms:dead');
    const jpeg = Buffer.concat([greyJpeg([[20, 240]]), Buffer.from('CAM-4711')]);
    const send = async (stored: Buffer, file: object, name: string) => {
      const { content_uri: url } = await ines.client.uploadContent(stored, {
        type: 'application/octet-stream',
      });
      return ines.say(room, '!th job photo when:intake', {
        ...{ msgtype: 'm.image', filename: name, info: { mimetype: 'image/jpeg', size: jpeg.length } },
        file: { ...file, url },
      });
    };
    const sealed = sealedByHand(jpeg);
    const kept = await scene.answerTo(ines, room, await send(sealed.bytes, sealed.file, 'front.jpg'));
    expect(kept).toMatchObject({ sealed: true });
    expect(kept.content.body).toContain('photo 1 is kept');
    // Bytes that are not what the message says are not opened.
    const other = Buffer.from(sealed.bytes);
    other[40] = (other[40] ?? 0) ^ 1;
    const torn = await scene.answerTo(ines, room, await send(other, sealed.file, 'front.jpg'));
    expect(torn.content.body).toMatch(/encrypted, and I cannot read it/);
    const before = ines.seen.length;
    await ask(ines, room, '!th job photos');
    const shown = await ines.sees(
      ({ content }) => content.msgtype === 'm.image' && /^job-\d+.*\.png$/.test(String(content.filename)),
      'the photo',
      before,
    );
    expect(shown.sealed).toBe(true);
    expect(shown.content.url).toBeUndefined();
    const { url, iv, key } = sealedFile.parse(shown.content.file);
    const got = await get(ines, `v1/media/download/${url.slice('mxc://'.length)}`);
    const stored = Buffer.from(await got.arrayBuffer());
    const opened = openedByHand(stored, key.k, iv);
    expect(stored.includes('PNG')).toBe(false);
    expect(opened.subarray(1, 4).toString('latin1')).toBe('PNG');
    expect(opened.includes('CAM-4711')).toBe(false);
  });

  it('have the weekly post with its picture, and its correction', async () => {
    const poster = scene.bot.surface.posterFor(room);
    const message = await poster.post('1 2026-W08', week('Week 8'));
    const post = await ines.sees((seen) => seen.event_id === message, 'the post');
    expect(post).toMatchObject({ sealed: true, content: { body: expect.stringContaining('Week 8') } });
    const picture = await ines.sees(
      ({ sender, content }) => sender === scene.bot.surface.id && content.filename === 'week.png',
      'the picture',
    );
    expect(picture.sealed).toBe(true);
    const { url, iv, key } = sealedFile.parse(picture.content.file);
    const got = await get(ines, `v1/media/download/${url.slice('mxc://'.length)}`);
    const stored = Buffer.from(await got.arrayBuffer());
    expect(stored.equals(PIXEL)).toBe(false);
    expect(openedByHand(stored, key.k, iv).equals(PIXEL)).toBe(true);
    await scene.bot.restart();
    const again = scene.bot.surface.posterFor(room);
    expect(await again.find('1 2026-W08')).toBe(message);
    await again.edit(message, week('Week 8, corrected'));
    const edited = await ines.sees(
      (seen) => seen.content['m.relates_to']?.rel_type === 'm.replace',
      'the correction',
    );
    expect(edited.sealed).toBe(true);
    expect(JSON.stringify(edited.content)).toContain('Week 8, corrected');
  });

  it('are treated as such from the moment they become so', async () => {
    const plain = await ines.makesRoom({ name: 'Opens', invite: [scene.bot.surface.id] });
    await scene.hears(ines, plain, 'Thirdhand is here');
    await scene.ask(ines, plain, '!th setup currency:AUD');
    const poster = scene.bot.surface.posterFor(plain);
    const message = await poster.post('2 2026-W09', week('Week 9'));
    expect((await rawOf(plain, message)).type).toBe('m.room.message');
    await ines.seals(plain);
    await ask(ines, plain, '!th family list');
    const next = await poster.post('2 2026-W10', week('Week 10'));
    expect((await rawOf(plain, next)).type).toBe('m.room.encrypted');
    await poster.edit(message, week('Week 9, corrected'));
    const edited = await ines.sees(
      (seen) => seen.room === plain && seen.content['m.relates_to']?.rel_type === 'm.replace',
      'the correction',
    );
    expect(edited.sealed).toBe(true);
  });

  it('are followed when they are upgraded', async () => {
    const { replacement_room: next } = await ines.client.upgradeRoom(room, '11');
    await ines.client.invite(next, scene.bot.surface.id);
    await scene.hears(ines, next, 'Thirdhand is here');
    expect((await ask(ines, next, '!th family list')).content.body).toContain('Orrin K3');
  });

  it('have what could not be read at first answered late, once, also after a restart', async () => {
    const where = await makeRoom(ines);
    await ask(ines, where, '!th setup currency:AUD');
    const keys = ines.withhold('*');
    await ines.client.getCrypto()?.forceDiscardSession(where);
    const lost = await ines.say(where, '!th family list');
    await scene.staysSilent(ines, where, async () => {});
    await scene.bot.restart();
    await keys.give();
    expect((await scene.answerTo(ines, where, lost)).sealed).toBe(true);
    await ask(ines, where, '!th caution swollen-cell');
    expect(scene.answersTo(ines, lost)).toHaveLength(1);
  });

  it('leave no key and no word in the clear in any file', () => {
    const space = `matrix:${scene.bot.surface.id}:${scene.botAccount.device}`;
    const records = scene.bot.database.sealedRecords.all(space);
    expect(records.length).toBeGreaterThan(10);
    /** A piece of each record, and of what people said. */
    const pieces = [
      ...records
        .filter(({ bytes }) => bytes.length > 60)
        .map(({ bytes }) => bytes.toString('base64').slice(24, 64)),
      NOTE,
    ];
    const inFiles = (where: string): string[] => {
      const files = readdirSync(where).map((name) => readFileSync(join(where, name)));
      return pieces.filter((piece) => files.some((file) => file.includes(piece)));
    };
    expect(inFiles(folder)).toEqual([]);
    // Were it not sealed, all of it would be found.
    const open = mkdtempSync(join(tmpdir(), 'thirdhand-open-'));
    const sealer = { ...testSealer, seal: (_: string, text: string) => text };
    const clear = openDatabase(join(open, 'store.sqlite'), sealer);
    for (const { shelf, id, bytes } of [...records, { shelf: 'x', id: 'note', bytes: Buffer.from(NOTE) }])
      clear.sealedRecords.write(
        space,
        new Map([[shelf, { cleared: false, records: new Map([[id, bytes]]) }]]),
      );
    clear.close();
    expect(inFiles(open).length).toBeGreaterThan(pieces.length - 2);
    rmSync(open, { recursive: true, force: true });
  });
});

describe.skipIf(absent)('an account that has cross-signing keys already', () => {
  it('keeps them: the bot asks for the recovery key, and signs its device and backs up with it', async () => {
    const scene = await openScene();
    const stopping: { stop(): void }[] = [];
    try {
      const first = await scene.accounts.register(`keyed-${Date.now()}`);
      const client = await sealedPersonOf(scene.url, first);
      stopping.push(client);
      const crypto = client.client.getCrypto();
      if (!crypto) throw new Error('no encryption');
      const recovery = await client.setsUpRecovery();
      const master = await crypto.getCrossSigningKeyId();
      const account = await scene.accounts.login(first);
      const bot = await startBot(scene.url, account);
      stopping.push({ stop: () => void bot.stop() });
      expect(bot.logged.join()).toContain('set MATRIX_RECOVERY_KEY');
      const settings = {
        homeserver: scene.url,
        token: account.token,
        recoveryKey: null,
        adminRoom: null,
        allow: null,
        prefix: '!th',
        stewardLevel: 50,
      };
      expect((await checkMatrix(settings)).lines.join('\n')).toContain('is not cross-signed');
      await bot.stop();
      const key = readRecoveryKey(recovery.written);
      expect(key?.equals(recovery.bytes)).toBe(true);
      await bot.start({ settings: { ...settings, recoveryKey: key } });
      const lines = (await checkMatrix({ ...settings, recoveryKey: key })).lines.join('\n');
      expect(lines).toContain(`the device ${account.device} is cross-signed`);
      expect(lines).toContain('backs room keys up');
      expect(await crypto.getCrossSigningKeyId()).toBe(master);

      // A key that came to the account's other device alone is found in the backup.
      const ines = await sealedPersonOf(scene.url, await scene.accounts.register(`ines-${Date.now()}`));
      stopping.push(ines);
      const room = await ines.makesRoom({ invite: [first.id], initial_state: sealedState });
      await ines.sees(
        (seen) => (seen.content.body ?? '').includes('Thirdhand is here') && seen.sealed === true,
        'the bot, to a client that trusts cross-signed devices only',
      );
      ines.withhold(account.device);
      await ines.client.getCrypto()?.forceDiscardSession(room);
      const asked = await ines.say(room, '!th help');
      await ines.sees(
        (seen) => seen.content['m.relates_to']?.['m.in_reply_to']?.event_id === asked && seen.sealed === true,
        'an answer',
      );
    } finally {
      for (const one of stopping) one.stop();
      await scene.end();
    }
  });
});
