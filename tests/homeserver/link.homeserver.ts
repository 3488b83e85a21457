import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { linkData } from '../../commands/setup/link.ts';
import { cleanLine } from '../../src/surfaces/text.ts';
import { knowledge } from '../test-bot.ts';
import type { Seen } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';

describe.skipIf(absent)('one collective on two platforms', () => {
  let scene: Scene;
  beforeAll(async () => {
    scene = await openScene();
  });
  afterAll(() => scene?.end());

  const server = { platform: 'discord', id: '100200300400500600' };
  /** What the other platform's surface does with a line, on the same store. */
  const onDiscord = (said: string | { token: string }) => {
    const { database } = scene.bot;
    const place = database.channelBindings.bindingOf(server.platform, server.id);
    const dispatcher = createDispatcher({
      database,
      knowledge: knowledge(),
      commands,
      makeId: () => crypto.randomUUID(),
      log: () => {},
    });
    return dispatcher.handle({
      collective: place?.collective ?? 0,
      person: { key: 'discord:1', name: 'Wren', role: 'steward' },
      direct: false,
      now: new Date(),
      place: server,
      say: typeof said === 'string' ? { line: said } : said,
    });
  };
  const newRoom = async (name: string): Promise<string> => {
    const room = await scene.ines.client.createRoom({ name, invite: [scene.bot.surface.id] });
    await scene.hears(scene.ines, room, 'Thirdhand is here');
    return room;
  };

  it('is tied by a word from the one, said in a room of the other that belongs to nobody yet', async () => {
    const { bot, ines, moss, ask } = scene;
    const discord = bot.database.collectives.create('Both Benches', { currency: 'AUD' });
    bot.database.channelBindings.bind({ ...server, collective: discord.id, kind: 'server' }, new Date());
    onDiscord('/family name model:"Vesper Loam" as:glued-back-under-display new-price:1099');
    onDiscord('/trace "no charge" model:"Vesper Loam"');
    const { word } = linkData.parse(onDiscord('/setup link').data);
    const room = await newRoom('Matrix Bench');
    await ines.client.inviteUser(moss.id, room);
    await moss.joinsInvite((invited) => invited === room);
    expect((await ask(moss, room, `!th setup link word:${word}`)).content.body).toContain('Only a steward');
    expect((await ask(ines, room, '!th setup link word:AAAA-BBBB-CCCC')).content.body).toContain(
      'not any more',
    );
    expect(bot.database.channelBindings.bindingOf('matrix', room)).toBeNull();
    expect((await ask(ines, room, `!th setup link word:${word}`)).content.body).toContain(
      'belongs to Both Benches',
    );
    expect(bot.database.channelBindings.bindingOf('matrix', room)?.collective).toBe(discord.id);
    // Good once.
    const again = await newRoom('Third Bench');
    expect((await ask(ines, again, `!th setup link word:${word}`)).content.body).toContain('not any more');

    // A trace begun there goes on here, and the other way round; prices are the same.
    const shown = await ask(ines, room, '!th trace show 1');
    expect(shown.content.body).toContain('Vesper Loam');
    expect((await ask(ines, room, '1')).content.body).toContain('Trace 1');
    expect(JSON.stringify(onDiscord('/trace show 1'))).toContain('Vesper Loam');
    const begun = await ask(ines, room, '!th trace dead model:"Vesper Loam"');
    expect(begun.content.body).toContain('Trace 2');
    const token = onDiscord('/trace show 2').choices[0]?.token ?? '';
    const onward = onDiscord({ token });
    expect(onward.outcome).toBe('answered');
    expect((await ask(ines, room, '!th trace show 2')).content.body).toContain(cleanLine(onward.title));
    // What was offered before that is out of date here too.
    const stale = await ines.reply(room, begun.event_id, '1');
    expect((await scene.answerTo(ines, room, stale)).content.body).toContain('out of date');
    await ask(ines, room, '!th job open "Vesper Loam" came:given symptoms:dead');
    expect(JSON.stringify(onDiscord('/job list'))).toContain('Vesper Loam');
    await ask(ines, room, '!th prices add what:"Vesper Loam" price:415 sure:yes');
    expect(JSON.stringify(onDiscord('/prices list'))).toContain('415.00');
  });

  it('is tied by a word from a room, which only the steward sees', async () => {
    const { bot, ines, ask, room } = scene;
    const told = await ask(ines, room, '!th setup link');
    expect(told.content.body).toContain('in our direct room');
    const direct = await ines.joinsInvite();
    const said = await ines.sees(
      (seen: Seen) => seen.room === direct && (seen.content.body ?? '').includes('The word is'),
      'the word',
    );
    const word = /[A-Z2-9]{4}-[A-Z2-9]{4}-[A-Z2-9]{4}/.exec(said.content.body ?? '')?.[0] ?? 'none';
    expect(onDiscord(`/setup link word:${word}`).outcome).toBe('answered');
    // What the server had stays behind, so it is asked about first.
    const place = bot.database.channelBindings.bindingOf(server.platform, server.id);
    const tin = bot.database.channelBindings.bindingOf('matrix', room);
    expect(place?.collective).not.toBe(tin?.collective);
    expect(onDiscord(`/setup link word:${word} leave:yes`).outcome).toBe('answered');
    expect(bot.database.channelBindings.bindingOf(server.platform, server.id)?.collective).toBe(
      tin?.collective,
    );
  });
});
