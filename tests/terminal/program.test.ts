/** The whole program as people and scripts start it. */
import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Sqlite from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { refusalData } from '../../commands/framework/refusal.ts';
import { replySchema } from '../../commands/framework/reply.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { testSealer } from '../sealer.ts';
import { saidIn, screensShown, TOUR_DAY } from './readme-screen.ts';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const TIME = 600_000;
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

interface Ended {
  code: number | null;
  out: string;
  err: string;
}
function start(args: string[], { input = '', data = join(folder, 'data') } = {}): Promise<Ended> {
  const child = spawn(process.execPath, ['src/thirdhand.cjs', '--data', data, ...args], {
    cwd: root,
    env: { PATH: process.env.PATH, HOME: folder, USER: 'wren' },
  });
  const ended: Ended = { code: null, out: '', err: '' };
  child.stdout.on('data', (chunk: Buffer) => {
    ended.out += chunk.toString();
  });
  child.stderr.on('data', (chunk: Buffer) => {
    ended.err += chunk.toString();
  });
  child.stdin.on('error', () => undefined);
  child.stdin.end(input);
  return new Promise((resolve) => {
    child.on('close', (code) => resolve({ ...ended, code }));
  });
}
const repliesOf = (out: string) =>
  out
    .trim()
    .split('\n')
    .map((line) => replySchema.parse(JSON.parse(line)));

describe('a time that somebody made up', () => {
  it('erases nothing: the notes of a job that is closed are there afterwards', {
    timeout: TIME,
  }, async () => {
    const data = join(folder, 'made-up');
    const say = (now: string, ...lines: string[]) =>
      start(['--json', '--in', 'direct', '--now', now, ...lines.flatMap((line) => ['--run', line])], {
        data,
      });
    await say(
      '2026-03-02T09:00',
      '/setup notes-kept:7',
      '/family name "Orrin K3" as:glued-front-home-sensor',
      '/job open "Orrin K3"',
      '/note add "ask about the long screws" job:1',
      '/job finish handed-back job:1',
    );
    const { out } = await say('2026-03-20T09:00', '/note list', '/note add "later on"');
    expect(out).toContain('ask about the long screws');
    await start(['--tick', '--now', '2026-03-20T09:00'], { data });
    expect((await say('2026-03-03T09:00', '/note list')).out).toContain('ask about the long screws');
  });
});

describe('the program', () => {
  it('runs commands in order, as JSON with data, and ends with 0', { timeout: TIME }, async () => {
    const { code, out, err } = await start([
      '--demo',
      '--json',
      ...['--now', '2026-03-02T09:00'],
      ...['--run', '/trace dead model:"Orrin K3"', '--run', '1', '--run', '/prices add "Orrin K3" price:120'],
    ]);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    const [trace, answered, added] = repliesOf(out);
    expect(trace?.data).toMatchObject({ trace: 1, model: 'Orrin K3', evidence: [] });
    // The number took the first choice of the reply before it.
    expect(answered?.data).toMatchObject({ trace: 1, evidence: [{ by: 'wren' }] });
    // --now is local to the collective, which is in Sydney, so that the day is the same there.
    expect(added?.data).toMatchObject({
      added: { seen: '2026-03-02', price: { amount: '120.00', currency: 'AUD' } },
    });
  });
  it('says in JSON why it refused, as a code', { timeout: TIME }, async () => {
    const { code, out } = await start(['--demo', '--json', '--run', '/wurth', '--run', '/job show 77']);
    expect(code).toBe(2);
    expect(repliesOf(out).map(({ data }) => refusalData.parse(data))).toEqual([
      { code: 'unknown-command', nearest: ['/worth'] },
      expect.objectContaining({ code: 'not-found', option: 'job' }),
    ]);
  });
  it('switches person and place between commands, and ends at /quit', { timeout: TIME }, async () => {
    const { code, out } = await start(['--collective', 'Tin Shed', '--json', '--as', 'Ines'], {
      input: '/in direct\n/note add "solder is low"\n/as Bram:steward\n/note list\n/quit\n/nonsense\n',
    });
    expect(code).toBe(0);
    const [place, kept, person, others, none] = repliesOf(out);
    expect([place?.title, person?.title]).toEqual([
      'You are in a direct message with the bot.',
      'You are Bram, a steward.',
    ]);
    expect(kept?.data).toMatchObject({ saved: { number: 1 } });
    expect(others?.data).toMatchObject({ total: 0 });
    expect(none).toBeUndefined();
  });
  it('keeps what was saved, for its owner alone; a member is no steward', { timeout: TIME }, async () => {
    const { code, out } = await start(['--collective', 'Tin Shed', '--as', 'Ines'], {
      input: '# a remark\n\n/prices\n/setup rate:50\n/setup\n',
    });
    expect(code).toBe(2);
    expect(out).toContain('AUD 120.00');
    expect(out).toContain('✗ Only a steward changes rate; you are a member here.');
    expect(out).not.toContain('remark');
    // Not a terminal: no colours.
    expect(out).not.toContain('\u001b');
    expect(statSync(join(folder, 'data')).mode & 0o777).toBe(0o700);
    expect(statSync(join(folder, 'data', 'thirdhand.sqlite')).mode & 0o777).toBe(0o600);
  });
  it('fixes the clock, so that the same line gives the same answer', { timeout: TIME }, async () => {
    const ask = (now: string) =>
      start(['--demo', '--now', now, '--json', '--run', '/worth "Orrin K3" price:30 symptoms:dead']);
    const [one, two, later] = [
      await ask('2026-03-02T09:00'),
      await ask('2026-03-02T09:00'),
      await ask('2027-03-02T09:00'),
    ];
    // What an offer is called by is made anew each time.
    const nameless = (out: string) => out.replaceAll(/"token":"[^"]+"/g, '"token":""');
    expect(nameless(two.out)).toBe(nameless(one.out));
    const value = (out: string) =>
      Number(
        z
          .object({ value: z.object({ median: z.object({ amount: z.string() }) }) })
          .parse(repliesOf(out)[0]?.data).value.median.amount,
      );
    expect(value(later.out)).toBeLessThan(value(one.out));
  });
  it('reads a file that a command is given, and refuses one that it cannot read', {
    timeout: TIME,
  }, async () => {
    const csv = join(folder, 'prices.csv');
    writeFileSync(
      csv,
      'date,kind,what,component,grade,storage,price,currency,how,note\n2026-02-01,phone,Tarn 8,,0,32,114.00,AUD,sold,from a file\n',
    );
    const noText = join(folder, 'no-text.csv');
    writeFileSync(noText, Buffer.from([0x64, 0x00, 0x01]));
    const big = join(folder, 'big.csv');
    writeFileSync(big, 'x'.repeat(2_000_001));
    const { code, out } = await start([
      '--demo',
      '--json',
      ...[csv, noText, big, join(folder, 'none.csv'), folder].flatMap((path) => [
        '--run',
        `/prices import file:@${path}`,
      ]),
    ]);
    expect(code).toBe(2);
    const [good, ...bad] = repliesOf(out);
    expect(good).toMatchObject({ outcome: 'answered', data: { imported: 1 } });
    expect(bad.map(({ outcome }) => outcome)).toEqual(['refused', 'refused', 'refused', 'refused']);
    expect(bad.map(({ title }) => title).join('\n')).toMatch(
      /is not text[\s\S]*too many[\s\S]*cannot be read[\s\S]*cannot be read/,
    );
  });
  it('saves the files of replies, copies the store and checks it', { timeout: TIME }, async () => {
    const out = join(folder, 'kept');
    const exported = await start([
      '--demo',
      '--now',
      '2026-03-02T09:00',
      '--save',
      out,
      '--run',
      '/prices export',
    ]);
    expect(exported.out).toContain(join(out, 'prices-2026-03-02.csv'));
    expect(readFileSync(join(out, 'prices-2026-03-02.csv'), 'utf8')).toContain('from a file');
    const copy = join(folder, 'copy.sqlite');
    expect(await start(['--backup', copy])).toMatchObject({ code: 0 });
    const database = openDatabase(copy, testSealer);
    expect(database.collectives.find('Tin Shed')?.settings.currency).toBe('AUD');
    database.close();
    expect(await start(['--check'])).toMatchObject({ code: 0, err: '' });
  });
  it('changes the key, and says at each start and with --check what cannot be opened', {
    timeout: TIME,
  }, async () => {
    const data = join(folder, 'keys');
    const direct = ['--in', 'direct', '--as', 'Ines'];
    const list = () => start([...direct, '--json', '--run', '/note list'], { data });
    await start([...direct, '--run', '/note add "back glass ordered"'], { data });
    const changed = await start(['--new-key'], { data });
    expect(changed).toMatchObject({ code: 0, err: '', out: expect.stringContaining('make a new one') });
    expect((await list()).out).toContain('back glass ordered');
    expect(await start(['--check'], { data })).toMatchObject({ code: 0, err: '' });

    rmSync(join(data, 'key'));
    const lost = await list();
    expect(lost.code).toBe(0);
    expect(lost.out).toContain('sealed under a key that is not here');
    expect(lost.err.trimEnd().split('\n')).toHaveLength(1);
    expect(lost.err).toContain('Put it back and start again');
    const check = await start(['--check'], { data });
    expect(check.code).toBe(1);
    expect(check.out).toContain('1 of 1 note cannot be opened');
    const refused = await start([...direct, '--run', '/note add "another"'], { data });
    expect(refused.code).toBe(2);
    expect(refused.out).toContain('the key to the store is not here');
    expect(readdirSync(data)).not.toContain('key');
  });
  it('says help without touching anything', { timeout: TIME }, async () => {
    const data = join(folder, 'untouched');
    const { code, out } = await start(['--help'], { data });
    expect(code).toBe(0);
    for (const option of [
      '--run',
      '--as',
      '--in',
      '--now',
      '--json',
      '--data',
      '--collective',
      '--demo',
      '--tour',
      '--save',
      '--backup',
      '--check',
      '--new-key',
    ])
      expect(out).toContain(option);
    expect(out).toContain('0 answered, 2 refused, 1 fault');
    expect(() => statSync(data)).toThrow('ENOENT');
  });
  it('says in the README what the tour says', { timeout: TIME }, async () => {
    const saved = join(folder, 'saved');
    const { out } = await start(['--tour', '--now', TOUR_DAY, '--save', saved]);
    const shown = screensShown();
    expect(shown.length).toBeGreaterThan(0);
    for (const screen of shown) {
      expect(screen.split('\n').length).toBeGreaterThan(12);
      // After a change of what the bot says: npm run node tests/terminal/readme-screen.ts
      expect(screen.split('\n')).toEqual(saidIn(out, screen).split('\n'));
    }
    // The page that the tour keeps.
    expect(readFileSync(join(saved, 'job-1-hand-over.md'), 'utf8')).toMatch(/^# Orrin K3: /);
  });
  it('plays the tour to its end without a terminal, and leaves nothing behind', {
    timeout: TIME,
  }, async () => {
    const data = join(folder, 'tour');
    const { code, out, err } = await start(['--tour'], { data });
    expect({ code, err }).toEqual({ code: 0, err: '' });
    for (const said of [
      '> /worth',
      '> /trace',
      '> /paired',
      '> /worth trace:1',
      '> /week',
      'That is the tour.',
    ])
      expect(out).toContain(said);
    expect(out.split('\n').length).toBeLessThanOrEqual(200);
    expect(() => statSync(data)).toThrow('ENOENT');
  });
});

describe('a start that cannot be', () => {
  const oneLine = (ended: Ended, words: RegExp) => {
    expect(ended.code).toBe(1);
    expect(ended.out).toBe('');
    expect(ended.err.trimEnd().split('\n')).toHaveLength(1);
    expect(ended.err).toMatch(words);
  };
  it('is explained in one line: a wrong option', { timeout: TIME }, async () => {
    oneLine(await start(['--nonsense']), /--nonsense/);
  });
  it('is explained in one line: a folder that cannot be written', { timeout: TIME }, async () => {
    writeFileSync(join(folder, 'in-the-way'), '');
    oneLine(
      await start(['--run', '/help'], { data: join(folder, 'in-the-way', 'data') }),
      /data folder cannot be written/,
    );
  });
  it('is explained in one line: a newer store, and a file that is no store', { timeout: TIME }, async () => {
    const newer = join(folder, 'newer');
    mkdirSync(newer);
    openDatabase(join(newer, 'thirdhand.sqlite'), testSealer).close();
    const file = new Sqlite(join(newer, 'thirdhand.sqlite'));
    file.pragma('user_version = 9999');
    file.close();
    oneLine(await start(['--run', '/help'], { data: newer }), /newer version/);
    const foreign = join(folder, 'foreign');
    mkdirSync(foreign);
    writeFileSync(
      join(foreign, 'thirdhand.sqlite'),
      'not a store, but long enough to be looked at. '.repeat(40),
    );
    oneLine(await start(['--run', '/help'], { data: foreign }), /not a data file/);
  });
  it('is explained in one line: a locked store', { timeout: TIME }, async () => {
    const locked = join(folder, 'locked');
    mkdirSync(locked);
    const file = new Sqlite(join(locked, 'thirdhand.sqlite'));
    file.exec('BEGIN EXCLUSIVE; CREATE TABLE t (x)');
    oneLine(await start(['--run', '/help'], { data: locked }), /in use by another/);
    file.close();
  });
});
