import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createClient } from '../../src/surfaces/matrix/client.ts';
import { loadSdk } from '../../src/surfaces/matrix/load-sdk.ts';
import type { Seen } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';

const { withoutEncryption, sdk, sqliteStore } = loadSdk();
const megolm = { algorithm: 'm.megolm.v1.aes-sha2' };
const sealedState = [{ type: 'm.room.encryption', state_key: '', content: megolm }];

describe.skipIf(absent)('an encrypted room, for a bot that cannot read there', () => {
  let scene: Scene;
  beforeAll(async () => {
    scene = await openScene();
  });
  afterAll(() => scene?.end());

  it('is told so once, and offered a direct room without encryption', async () => {
    const { ines, bot, hears, answerTo } = scene;
    const room = await ines.client.createRoom({
      name: 'Sealed',
      invite: [bot.surface.id],
      initial_state: sealedState,
    });
    await hears(ines, room, 'Thirdhand is here');
    const sealed = (text: string) =>
      ines.client.sendRawEvent(room, 'm.room.encrypted', {
        ...megolm,
        ciphertext: `AwgAEnACgAk${text}`,
        device_id: 'RJYKSTBOIE',
        sender_key: 'IlRMeOPX2e0MurIyfWEucYBRVOEEUMrOHqn',
        session_id: 'X3lUlvLELLYxeTx4yOVu6UDpasGEVO0Jbu',
      });
    const told = await answerTo(ines, room, await sealed('one'));
    expect(told.content.body).toContain('I cannot read here');
    expect(told.content.body).toContain('1  Open an unencrypted direct room with me');
    await scene.staysSilent(ines, room, () => sealed('two'));
    await ines.react(room, told.event_id, '1️⃣');
    const direct = await ines.joinsInvite();
    await hears(ines, direct, 'without encryption');
    const state = await ines.client.getRoomState(direct);
    const types = state.map(({ type }: { type: string }) => type);
    expect(types).toContain('m.room.power_levels');
    expect(types).not.toContain('m.room.encryption');
  });

  it('is passed over for private answers, where the direct room is encrypted', async () => {
    const { bot, hears, room } = scene;
    const bram = await scene.person('bram');
    await scene.ines.client.inviteUser(bram.id, room);
    await bram.joinsInvite();
    const own = await bram.client.createRoom({
      is_direct: true,
      invite: [bot.surface.id],
      initial_state: sealedState,
    });
    await hears(bram, own, 'Thirdhand is here');
    await scene.ask(bram, room, '!th help');
    const direct = await bram.joinsInvite((invited) => invited !== own);
    await hears(bram, direct, 'What you can say');
    expect(
      bram.seen.filter((seen) => seen.room === own && JSON.stringify(seen).includes('What you can')),
    ).toEqual([]);
  });
});

describe.skipIf(absent || withoutEncryption !== null)('encrypted rooms, with the native library', () => {
  let scene: Scene;
  let folder: string;
  /** Ines at a client that encrypts. */
  let sealedInes: ReturnType<typeof createClient>;
  const seen: Seen[] = [];
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'thirdhand-keys-'));
    scene = await openScene({}, { folder: join(folder, 'bot') });
    const account = await scene.accounts.register(`sealed-${Date.now()}`);
    sealedInes = createClient({
      loaded: loadSdk(),
      homeserver: scene.url,
      token: account.token,
      cryptoStore: new sdk.RustSdkCryptoStorageProvider(join(folder, 'ines'), sqliteStore),
      startAt: null,
      onInvite: () => {},
      onState: () => {},
      onGap: () => {},
      onEvent: (room, event) => seen.push({ ...Object(event), room }),
      onBatch: () => {},
      onFault: () => {},
    });
    await sealedInes.start();
  });
  afterAll(async () => {
    sealedInes?.stop();
    await scene?.end();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });
  const answerTo = async (eventId: string): Promise<Seen> => {
    for (let tries = 0; tries < 400; tries += 1) {
      const found = seen.find((one) => one.content['m.relates_to']?.['m.in_reply_to']?.event_id === eventId);
      if (found && found.type === 'm.room.message') return found;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
    throw new Error(`no answer to ${eventId}`);
  };
  const sealedRoom = async (more: object): Promise<string> => {
    const room = await sealedInes.createRoom({
      invite: [scene.bot.surface.id],
      initial_state: sealedState,
      ...more,
    });
    for (let tries = 0; tries < 200; tries += 1) {
      if ((await sealedInes.getJoinedRoomMembers(room)).includes(scene.bot.surface.id)) return room;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
    throw new Error('the bot did not join');
  };

  it('are answered in, encrypted', async () => {
    const room = await sealedRoom({ name: 'Sealed Shed' });
    const asked = await sealedInes.sendText(room, '!th setup currency:AUD');
    expect((await answerTo(asked)).content.body).toContain('Sealed Shed');
    const raw: unknown = await sealedInes.getRawEvent(room, (await answerTo(asked)).event_id);
    expect(raw).toMatchObject({ type: 'm.room.encrypted' });
  });

  it('are direct rooms too', async () => {
    const room = await sealedRoom({ is_direct: true });
    const asked = await sealedInes.sendText(room, 'family list');
    expect((await answerTo(asked)).content.body).not.toMatch(/^✗/);
  });

  it('are still read after a restart, with the kept store and device', async () => {
    const room = await sealedRoom({ is_direct: true });
    await answerTo(await sealedInes.sendText(room, 'family list'));
    await scene.bot.restart();
    const asked = await sealedInes.sendText(room, 'family list');
    expect((await answerTo(asked)).content.body).not.toMatch(/^✗/);
  });
});
