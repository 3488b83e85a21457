import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { commands } from '../../commands/index.ts';
import { greyJpeg } from '../photos/grey-jpeg.ts';
import type { Person, Seen } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';

describe.skipIf(absent)('commands in a room', () => {
  let scene: Scene;
  beforeAll(async () => {
    scene = await openScene();
  });
  afterAll(() => scene?.end());

  it('belong to nobody until a steward sets the room up, and are refused with the way out', async () => {
    const { ines, moss, bot, ask, hears } = scene;
    const room = await ines.client.createRoom({ name: 'Back Room', invite: [bot.surface.id, moss.id] });
    await moss.joinsInvite((invited) => invited === room);
    expect((await hears(ines, room, 'Thirdhand is here')).content.body).toContain('!th setup');
    const refused = await ask(moss, room, '!th worth "Orrin K3" price:20');
    expect(refused.content.body).toContain('belongs to no collective');
    expect((await ask(moss, room, '!th setup')).content.body).toContain('Only a steward');
    expect(bot.database.channelBindings.bindingOf('matrix', room)).toBeNull();
    // A refusal leaves no collective behind.
    const before = bot.database.collectives.list().length;
    expect((await ask(ines, room, '!th setup currency:XYZ')).content.body).toContain('XYZ');
    expect(bot.database.collectives.list()).toHaveLength(before);
    const made = await ask(ines, room, '!th setup currency:EUR');
    expect(made.content.body).toContain('now the collective "Back Room". !th help');
    expect(bot.database.channelBindings.bindingOf('matrix', room)?.kind).toBe('room');
    expect((await ask(ines, room, '!th setup')).content.body).toContain('EUR');
    // What one collective named, another does not see.
    expect((await ask(ines, room, '!th worth "Orrin K3" price:20')).content.body).not.toContain(
      'worth up to',
    );
  });

  it('are answered as a notice in reply, with lists in place of tables and nobody notified', async () => {
    const { ines, room, ask } = scene;
    const { content } = await ask(ines, room, '!th worth "Orrin K3" price:20');
    expect(content.msgtype).toBe('m.notice');
    expect(content.format).toBe('org.matrix.custom.html');
    const settings = (await ask(ines, room, '!th setup')).content.formatted_body;
    expect(settings).toContain('<ul><li><strong>');
    for (const drawn of [content.formatted_body, settings]) expect(drawn).not.toContain('<table');
    expect(content.body).toMatch(/worth up to/);
    expect(content['m.mentions']).toEqual({});
    expect(content['m.relates_to']?.rel_type).toBeUndefined();
  });

  it('are taken by mention, and stay in their thread', async () => {
    const { ines, room, bot, answerTo, ask } = scene;
    const root = await ines.say(room, 'Look at this one');
    const asked = await ines.say(room, `${bot.surface.id}: worth "Orrin K3" price:20`, {
      'm.mentions': { user_ids: [bot.surface.id] },
      'm.relates_to': {
        rel_type: 'm.thread',
        event_id: root,
        is_falling_back: true,
        'm.in_reply_to': { event_id: root },
      },
    });
    const { content } = await answerTo(ines, room, asked);
    expect(content['m.relates_to']).toMatchObject({ rel_type: 'm.thread', event_id: root });
    const pointed = await ask(ines, room, '!th worth "Orrin K3" prize:20');
    expect(pointed.content.body).toContain('!th worth "Orrin K3" prize:20\n                     ^^^^^^^^');
    expect(pointed.content.body).toContain('price');
  });

  it('begin with the cautions', async () => {
    const { ines, room, ask } = scene;
    const { content } = await ask(ines, room, '!th paired "Orrin K3" component:battery');
    expect(content.body).toMatch(/^Local codes and licensed practice come first\.\n+[◆▲] (DANGER|CAUTION)/);
    expect(content.formatted_body).toMatch(/^<p>Local codes[^<]*<\/p><blockquote><strong>/);
  });

  it('all work, each with its first example or the like', async () => {
    const { ines, room, ask, bot } = scene;
    const lines: Readonly<Record<string, string>> = {
      read: 'read "Orrin K3, given, dead, 0 A"',
      worth: 'worth "Orrin K3" price:20 symptoms:dead',
      lot: 'lot "Orrin K3 dead; 2x Orrin K3 no charge" price:30',
      shelf: 'shelf add battery of:"Orrin K3" grade:copy price:14',
      trace: 'trace dead model:"Orrin K3"',
      job: 'job list',
      paired: 'paired "Orrin K3" component:"display assembly"',
      swap: 'swap list',
      danger: 'danger swollen',
      caution: 'caution swollen-cell',
      prices: 'prices add what:"Orrin K3" price:120',
      records: 'records preview',
      family: 'family list',
      reading: 'reading list "Orrin K3"',
      setup: 'setup rate:30',
      help: 'help worth',
      week: 'week',
      note: 'note list',
      mydata: 'mydata',
    };
    for (const { name } of commands) {
      const line = lines[name];
      expect(line, `a line for /${name}`).toBeDefined();
      const { content } = await ask(ines, room, `!th ${line}`);
      // Private ones are refused here; in a direct room they are tested on their own.
      if (['note', 'mydata'].includes(name)) expect(content.body, line).toContain('direct room only');
      else expect(content.body, line).not.toMatch(/^✗/);
    }
    expect(bot.logged).toEqual([]);
  });

  it('say what a room is to the bot, and send the weekly post there or not', async () => {
    const { ines, moss, room, ask, bot } = scene;
    const weekly = () => bot.database.channelBindings.bindingOf('matrix', room)?.weekly;
    const shown = await ask(moss, room, '!th room');
    expect(shown.content.body).toContain('Weekly post: does not go here');
    expect(shown.content.body).toContain('It may not take messages away here');
    expect((await ask(moss, room, '!th room weekly')).content.body).toContain('for stewards');
    expect(weekly()).toBe(false);
    expect((await ask(ines, room, '!th room weekly')).content.body).toContain('The weekly post goes here');
    expect(weekly()).toBe(true);
    expect((await ask(ines, room, '!th room weakly')).content.body).toContain('has no action "weakly"');
    await ask(ines, room, '!th room weekly off');
    await ask(ines, room, '!th setup language:de');
    expect((await ask(moss, room, '!th room')).content.body).toContain('Dieser Raum');
    await ask(ines, room, '!th setup language:en');
    expect(weekly()).toBe(false);
  });

  it('take a file: with the command as its caption, or in answer to it', async () => {
    const { ines, room, answerTo, ask } = scene;
    const exported = await ask(ines, room, '!th prices export');
    const attached = await ines.sees(
      (seen: Seen) => seen.content.msgtype === 'm.file' && seen.sender === scene.bot.surface.id,
      'the exported file',
    );
    expect(exported.content.body).toMatch(/^[▸✓]/);
    expect(attached.content.filename).toMatch(/\.csv$/);
    const own = await textOf(ines, String(attached.content.url));
    expect(own).toContain('Orrin K3');
    const url = await ines.client.uploadContent(Buffer.from(own), 'text/csv', 'prices.csv');
    const file = { msgtype: 'm.file', filename: 'prices.csv', url, info: { size: own.length } };
    const captioned = await ines.client.sendRawEvent(room, 'm.room.message', {
      ...file,
      body: '!th prices import',
    });
    expect((await answerTo(ines, room, captioned)).content.body).toMatch(/^[▸✓].*price/);
    // As the help has it: the name in the line is that of the file beside it.
    const named = await ines.client.sendRawEvent(room, 'm.room.message', {
      ...file,
      body: '!th prices import prices.csv',
    });
    expect((await answerTo(ines, room, named)).content.body).toMatch(/^[▸✓].*price/);
    expect((await ask(ines, room, '!th prices import prices.csv')).content.body).toContain('no file with');
    expect((await ask(ines, room, '!th prices import')).content.body).toContain('no file with');
    const plain = await ines.client.sendRawEvent(room, 'm.room.message', { ...file, body: 'prices.csv' });
    const answered = await answerTo(ines, room, await ines.reply(room, plain, '!th prices import'));
    expect(answered.content.body).toMatch(/^[▸✓].*price/);
    const bytes = Buffer.from([0xff, 0xfe, 0x00]);
    const binary = await ines.client.uploadContent(bytes, 'application/octet-stream', 'x.bin');
    const wrong = await ines.client.sendRawEvent(room, 'm.room.message', {
      msgtype: 'm.file',
      filename: 'x.bin',
      body: '!th prices import',
      url: binary,
    });
    expect((await answerTo(ines, room, wrong)).content.body).toContain('not text');
  });

  it('take a photo: drawn anew, and shown to who asks', async () => {
    const { ines, room, answerTo, ask } = scene;
    await ask(ines, room, '!th job open "Orrin K3" came:given symptoms:dead');
    const jpeg = Buffer.concat([greyJpeg([[20, 240]]), Buffer.from('CAM-4711')]);
    const url = await ines.client.uploadContent(jpeg, 'image/jpeg', 'front.jpg');
    const captioned = await ines.client.sendRawEvent(room, 'm.room.message', {
      msgtype: 'm.image',
      filename: 'front.jpg',
      body: '!th job photo when:intake',
      url,
      info: { mimetype: 'image/jpeg', size: jpeg.length },
    });
    expect((await answerTo(ines, room, captioned)).content.body).toContain('photo 1 is kept');
    await ask(ines, room, '!th job photos');
    const shown = await ines.sees(
      ({ content }: Seen) =>
        content.msgtype === 'm.image' && /^job-\d+.*\.png$/.test(String(content.filename)),
      'the photo',
    );
    const png = await ines.client.downloadContent(String(shown.content.url));
    expect(png.data.subarray(1, 4).toString('latin1')).toBe('PNG');
    expect(png.data.includes('CAM-4711')).toBe(false);
  });

  it('are not heard in notices, edits, redacted words, talk, or the words of the bot', async () => {
    const { ines, room, staysSilent } = scene;
    await staysSilent(ines, room, async () => {
      await ines.say(room, '!th worth "Orrin K3"', { msgtype: 'm.notice' });
      await ines.say(room, 'worth "Orrin K3" price:20');
      await ines.say(room, '!help');
      const said = await ines.say(room, 'hello');
      await ines.say(room, '* !th caution', {
        'm.new_content': { msgtype: 'm.text', body: '!th caution' },
        'm.relates_to': { rel_type: 'm.replace', event_id: said },
      });
      await ines.client.redactEvent(room, said);
      await ines.react(room, said, '1️⃣');
    });
  });

  it('ping nobody, whatever a person has typed', async () => {
    const { ines, moss, room, ask } = scene;
    const nasty = `@room ${moss.id} <b>x</b>`;
    const { content } = await ask(ines, room, `!th family name model:"${nasty}" as:budget-port-on-board`);
    expect(content['m.mentions']).toEqual({});
    expect(content.formatted_body).not.toContain('<b>x</b>');
    expect(content.formatted_body).toContain('&lt;b&gt;x&lt;/b&gt;');
  });
});

async function textOf(who: Person, url: string): Promise<string> {
  const { data } = await who.client.downloadContent(url);
  return Buffer.from(data).toString('utf8');
}
