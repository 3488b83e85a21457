import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { interimSealer } from '../../shared/sealing/sealer.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { absent, openScene, type Scene } from './scene.ts';
import { megolm, sealedState } from './sealed-people.ts';

describe.skipIf(absent)('an encrypted room, for a bot that cannot read there', () => {
  let scene: Scene;
  beforeAll(async () => {
    // The store's key is lost: no key of a room can be kept.
    const database = openDatabase(
      ':memory:',
      interimSealer((place) => !place.startsWith('record:')),
    );
    scene = await openScene({}, { database });
    expect(scene.bot.surface.withoutEncryption).toContain("the store's key");
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
