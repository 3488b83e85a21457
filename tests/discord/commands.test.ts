import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { commandPath } from '../../commands/framework/command.ts';
import { parseLine } from '../../commands/framework/parse.ts';
import { commands } from '../../commands/index.ts';
import { greyJpeg } from '../photos/grey-jpeg.ts';
import { type Stage, stage, titleOf, wordsOn } from './bot.ts';
import type { Seen, Value } from './loopback/person.ts';
import { readMarkup } from './markup.ts';

let on: Stage;
async function setUp(): Promise<void> {
  on = await stage();
  await on.ines.use('family', 'name', {
    model: 'Orrin K3',
    as: 'glued-front-home-sensor',
    launched: '2017-09',
    'new-price': '649',
  });
  await on.ines.use('setup', 'change', { region: 'AU', zone: 'Australia/Sydney' });
}
async function takeDown(): Promise<void> {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
}

const csv = 'date,kind,what,component,grade,storage,price,currency,how,note\n';

/** What an example line says, said as a slash command. */
function asSlash(line: string, command: string, action: string): Record<string, Value> {
  const { options } = parseLine(line, commands);
  const found = commands.find(({ name }) => name === command)?.actions[action]?.options ?? {};
  return Object.fromEntries(
    Object.entries(options).map(([name, text]): [string, Value] => [
      name,
      found[name]?.wire.type === 'file' ? { file: 'prices.csv', bytes: Buffer.from(csv) } : text,
    ]),
  );
}

const examples = commands.flatMap((command) =>
  Object.entries(command.actions).flatMap(([action, { examples: lines, where }]) =>
    lines.map((line) => ({ line, command: command.name, path: commandPath(command, action), action, where })),
  ),
);

describe('every command', () => {
  // On a stage of its own: among the examples is one that forgets a model.
  beforeAll(setUp);
  afterAll(takeDown);
  it.each(examples)('$line is answered', async ({ line, command, action, where }) => {
    const person = where === 'direct' ? on.direct(on.people.ines) : on.ines;
    const seen = await person.use(command, action, asSlash(line, command, action));
    expect(seen.message ?? seen.modal).not.toBeNull();
    expect(seen.deferred).toBe(false);
    expect(wordsOn(seen.message)).not.toContain('Something went wrong');
  });
});

describe('an answer', () => {
  beforeAll(setUp);
  afterAll(takeDown);

  it('is in the callback, for everyone in the channel', async () => {
    const seen = await on.moss.use('worth', '', { model: 'Orrin K3', price: '20' });
    expect(seen).toMatchObject({ ephemeral: false, deferred: false, inPlace: false });
    expect(wordsOn(seen.message)).toMatch(/AUD/);
    expect(titleOf(seen.message)).toMatch(/^[▸✓▲◆] /);
  });

  it('at a seller’s table has one button for each answer to the first look, and the highest price runs along', async () => {
    const options = { model: 'Orrin K3', price: '60', value: '200', symptoms: 'no charge' };
    const first = (await on.moss.use('worth', '', options)).message;
    if (!first) throw new Error('no message');
    const labels = on.moss.labels(first);
    expect(labels).toContain('Liquid mark in the tray opening: dry');
    expect(labels).toContain('Liquid mark in the tray opening: it has turned colour');
    // A menu takes two taps: it has the looks that are not asked for yet.
    const menus =
      JSON.stringify(first.components)
        .match(/"type":3.*/g)
        ?.join('') ?? '';
    expect(menus).not.toContain('Liquid mark');
    const next = (await on.moss.press(first, 'Liquid mark in the tray opening: dry')).message;
    expect(wordsOn(next)).toMatch(/Most to pay: AUD\s[\d.]+ before the last look, AUD\s[\d.]+ now\./);
    expect(next && on.moss.labels(next)).not.toContain('Liquid mark in the tray opening: dry');
  });

  it('is for its asker alone where the reply says so, and where it is a refusal', async () => {
    const help = await on.moss.use('help', '', {});
    expect(help.ephemeral).toBe(true);
    const refused = await on.moss.use('worth', '', { model: 'Orin K4', price: '20' });
    expect(refused.ephemeral).toBe(true);
    expect(wordsOn(refused.message)).toContain('Did you mean Orrin K3?');
    const steward = await on.moss.use('week', 'off', {});
    expect(steward.ephemeral).toBe(true);
    expect(wordsOn(steward.message)).toContain('for stewards');
  });

  it('pings nobody and shows text as it was typed', async () => {
    const seen = await on.moss.use('job', 'open', { model: 'Orrin K3', came: 'given' });
    expect(titleOf(seen.message)).toContain('Orrin K3');
    const logged = await on.moss.use('job', 'log', {
      text: '@everyone ||look|| https://example.org **now**',
    });
    const { markup, shown } = readMarkup(wordsOn(logged.message));
    expect(shown).toContain('@everyone ||look|| https://example.org **now**');
    // What is drawn are the bot's own bold labels.
    expect(new Set(markup)).toEqual(new Set(['emphasis']));
  });
});

describe('completion', () => {
  beforeAll(setUp);
  afterAll(takeDown);

  it('offers names from the lookups, at most 25, and values that the command takes', async () => {
    const models = await on.moss.type('worth', '', 'model', 'orr');
    expect(models[0]).toEqual({ name: 'Orrin K3', value: 'Orrin K3' });
    const all = await on.moss.type('worth', '', 'symptoms', '');
    expect(all).toHaveLength(25);
    const listed = await on.moss.type('worth', '', 'symptoms', 'dead, no ch');
    expect(listed[0]?.value).toMatch(/^dead, /i);
    const seen = await on.moss.use('worth', '', { model: 'Orrin K3', symptoms: listed[0]?.value ?? '' });
    expect(titleOf(seen.message)).not.toMatch(/^✗/);
  });

  it('knows what belongs to the collective of the server only', async () => {
    const { loopback } = on;
    const other = loopback.world.addServer('Loft', on.people.wren);
    const room = loopback.world.addChannel(other, 'bench');
    loopback.gateway.dispatch('GUILD_CREATE', loopback.world.serverCreateJson(other));
    const wren = loopback.person(on.people.wren, { channel: room.id });
    expect(await wren.type('family', 'forget', 'model', '')).toEqual([]);
    expect(on.database.collectives.find('Loft')).not.toBeNull();
  });

  it('is empty, and no fault, for what cannot be completed', async () => {
    expect(await on.moss.type('job', 'hand', 'to', '\u0000')).toEqual([]);
  });
});

describe('files', () => {
  beforeAll(setUp);
  afterAll(takeDown);

  const importing = (bytes: Buffer, file = 'prices.csv', type = 'text/csv'): Promise<Seen> =>
    on.ines.use('prices', 'import', { file: { file, bytes, type } });

  it('come in as attachments', async () => {
    const rows = `${csv}2026-02-11,phone,Orrin K3,,0,64,151.00,AUD,sold,\n`;
    const seen = await importing(Buffer.from(rows));
    expect(titleOf(seen.message)).toMatch(/^✓ .*1 /);
  });

  it.each([
    ['too large', Buffer.alloc(2_000_001, 'a'), 'prices.csv', 'text/csv', /bytes, which are too many/],
    ['a picture', Buffer.from([137, 80, 78, 71]), 'prices.png', 'image/png', /is image\\\/png, not text/],
    // Half of a pair that stands for one sign.
    ['broken UTF-16', Buffer.from([0xff, 0xfe, 0x00, 0xd8]), 'prices.csv', 'text/csv', /is not text/],
    ['full of zeros', Buffer.alloc(30), 'prices.csv', 'text/csv', /is not text/],
    ['an archive called text', Buffer.from('PK\u0003\u0004'), 'prices.zip', 'application/zip', /not text/],
  ])('that are %s are refused', async (_, bytes, file, type, words) => {
    const seen = await importing(bytes, file, type);
    expect(seen.ephemeral).toBe(true);
    expect(wordsOn(seen.message)).toMatch(words);
  });

  it('are refused when Discord does not give them', async () => {
    on.loopback.faults.push({ method: 'GET', path: /^\/cdn\//, do: { status: 404 } });
    expect(wordsOn((await importing(Buffer.from(csv))).message)).toContain('could not be fetched');
  });

  it('are fetched again when the socket is cut', async () => {
    on.loopback.faults.push({ method: 'GET', path: /^\/cdn\//, do: 'cut after' });
    const seen = await importing(Buffer.from(csv));
    expect(wordsOn(seen.message)).not.toContain('could not be fetched');
  });

  it('that are photos come in drawn anew, and go out to who asks', async () => {
    const opened = await on.ines.use('job', 'open', { model: 'Orrin K3', came: 'given', symptoms: 'dead' });
    expect(titleOf(opened.message)).toContain('is open');
    const photo = (bytes: Buffer, file: string, type: string): Promise<Seen> =>
      on.ines.use('job', 'photo', { file: { file, bytes, type }, when: 'intake' });
    const jpeg = greyJpeg([[20, 240]]);
    const kept = await photo(Buffer.concat([jpeg, Buffer.from('CAM-4711')]), 'front.jpg', 'image/jpeg');
    expect(titleOf(kept.message)).toMatch(/photo 1 is kept/);
    const [file] = (await on.ines.use('job', 'photos', {})).message?.attachments ?? [];
    expect(file?.filename).toMatch(/\.png$/);
    expect(file?.bytes.subarray(1, 4).toString('latin1')).toBe('PNG');
    expect(file?.bytes.includes('CAM-4711')).toBe(false);
    const refused = await photo(Buffer.from('no photo'), 'front.jpg', 'image/jpeg');
    expect(wordsOn(refused.message)).toContain('no photo that can be read');
  });

  it('go out as attachments', async () => {
    const seen = await on.moss.use('prices', 'export', {});
    const [file] = seen.message?.attachments ?? [];
    expect(file?.filename).toMatch(/\.csv$/);
    expect(file?.bytes.toString()).toContain('Orrin K3');
    expect(file?.description).toBeTruthy();
  });
});
