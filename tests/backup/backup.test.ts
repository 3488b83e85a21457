/** Copies of the store, through the program as people run it: each accident that can lose one, by name. */
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { migrations } from '../../shared/store/migrations.ts';
import { run, runToEnd, says } from '../kills/programs.ts';

const TIME = 600_000;
let folder = '';
let data = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-backup-'));
  data = join(folder, 'data');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));
const at = (name: string) => join(folder, name);
const store = () => join(data, 'thirdhand.sqlite');

const start = (given: readonly string[], where = data) =>
  runToEnd({ arguments: ['--data', where, '--as', 'Ines:steward', ...given] });
const NAME = '/family name model:"Orrin K3" as:glued-front-home-sensor';
const price = (amount: number) => `/prices add "Orrin K3" price:${amount} sure:yes`;
const NOTE = ['--in', 'direct', '--run', '/note add "back glass ordered"'];
/** A store with a model, prices and a note that is sealed. */
async function filled(prices = 2, where = data): Promise<void> {
  const lines = Array.from({ length: prices }, (_, index) => ['--run', price(100 + index)]).flat();
  expect((await start(['--run', NAME, ...lines], where)).code).toBe(0);
  expect((await start(NOTE, where)).code).toBe(0);
}
const listing = (where: string) => readdirSync(where).sort();

describe('a mistyped folder', () => {
  it('is not copied, and no store is made in it', { timeout: TIME }, async () => {
    const wrong = at('dtaa');
    const { code, out, err } = await start(['--backup', at('copy.sqlite')], wrong);
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toBe(
      `thirdhand: There is no store at ${join(wrong, 'thirdhand.sqlite')}. Nothing was made there.\n`,
    );
    expect(listing(folder)).toEqual([]);
  });
  it('that is there and empty stays empty', { timeout: TIME }, async () => {
    mkdirSync(data);
    for (const verb of [['--backup', at('copy.sqlite')], ['--backup', `${at('copies')}/`], ['--new-key']])
      expect((await start(verb)).err).toMatch(/^thirdhand: There is no store at .*Nothing was made there/);
    writeFileSync(store(), '');
    expect((await start(['--backup', at('copy.sqlite')])).code).toBe(1);
    expect(listing(folder)).toEqual(['data']);
    expect(listing(data)).toEqual(['thirdhand.sqlite']);
  });
  it('is not called sound by --check, and no store is made in it', { timeout: TIME }, async () => {
    const { code, out } = await start(['--check'], at('dtaa'));
    expect(code).toBe(1);
    expect(out).toContain(`There is no store in ${at('dtaa')}, and none was made.`);
    expect(out).not.toMatch(/sound/);
    expect(listing(folder)).toEqual([]);
  });
  it('does not take the place of last night’s copy', { timeout: TIME }, async () => {
    await filled();
    const copy = at('copy.sqlite');
    expect((await start(['--backup', copy])).code).toBe(0);
    const good = readFileSync(copy);
    // Nothing there; and a store that a start by hand has made there meanwhile.
    expect((await start(['--backup', copy], at('dtaa'))).code).toBe(1);
    expect((await start(['--run', '/family list'], at('dtaa'))).code).toBe(0);
    const { code, err } = await start(['--backup', copy], at('dtaa'));
    expect(code).toBe(1);
    expect(err).toContain('holds what this store does not, so it was left as it is');
    expect(err).toMatch(
      /It has 0 jobs, 2 prices, 1 note, newest entry .* \(Home bench\); the store in .*dtaa has 0 jobs, 0 prices, 0 notes, no entry/,
    );
    expect(readFileSync(copy).equals(good)).toBe(true);
    // With a word it is replaced.
    expect((await start(['--backup', copy, '--replace'], at('dtaa'))).code).toBe(0);
    expect((await start(['--verify', copy])).out).toContain('0 jobs, 0 prices');
  });
});

describe('a copy', () => {
  it('says what is in it, was opened, and is one file that its owner alone can read', {
    timeout: TIME,
  }, async () => {
    await filled();
    const { code, out, err } = await start(['--backup', at('copy.sqlite')]);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    expect(out).toMatch(
      /copy.sqlite holds 0 jobs, 2 prices, 1 note, newest entry \d{4}-\d\d-\d\d \d\d:\d\d UTC \(Home bench\); \d+ kB\.\n/,
    );
    expect(out).toContain('It was opened and read whole: it is sound.');
    expect(out).toMatch(/All \d+ sealed texts in it open with the key\./);
    expect(out).toContain(`The key is not in it: keep a copy of ${join(data, 'key')} in another place.`);
    expect(listing(folder)).toEqual(['copy.sqlite', 'data']);
    expect(statSync(at('copy.sqlite')).mode & 0o777).toBe(0o600);
    expect((await start(['--verify', at('copy.sqlite')])).code).toBe(0);
    expect(listing(folder)).toEqual(['copy.sqlite', 'data']);
  });
  it('of a later moment replaces the one before, also after something was removed', {
    timeout: TIME,
  }, async () => {
    await filled();
    const copy = at('copy.sqlite');
    expect((await start(['--backup', copy])).code).toBe(0);
    expect((await start(['--run', price(130), '--run', '/prices remove 1'])).code).toBe(0);
    expect((await start(['--in', 'direct', '--run', '/note erase 1'])).code).toBe(0);
    expect(await start(['--backup', copy])).toMatchObject({ code: 0, err: '' });
    expect((await start(['--run', '/prices remove 3'])).code).toBe(0);
    expect(await start(['--backup', copy])).toMatchObject({ code: 0, err: '' });
    expect((await start(['--verify', copy])).out).toContain('0 jobs, 1 price, 0 notes');
  });
  it('of an older moment replaces none that is newer', { timeout: TIME }, async () => {
    await filled();
    const old = at('old.sqlite');
    expect((await start(['--backup', old])).code).toBe(0);
    expect((await start(['--run', price(130)])).code).toBe(0);
    expect((await start(['--backup', at('copy.sqlite')])).code).toBe(0);
    expect((await start(['--restore', old])).code).toBe(0);
    const { code, err } = await start(['--backup', at('copy.sqlite')]);
    expect({ code, err }).toMatchObject({ code: 1, err: expect.stringContaining('It has 0 jobs, 3 prices') });
  });
  it('replaces no file that is something else, and never the store itself', { timeout: TIME }, async () => {
    await filled();
    writeFileSync(at('letter.txt'), 'dear Ines');
    expect((await start(['--backup', at('letter.txt')])).err).toContain('is no copy of a store');
    expect(readFileSync(at('letter.txt'), 'utf8')).toBe('dear Ines');
    for (const more of [[], ['--replace']])
      expect((await start(['--backup', store(), ...more])).err).toContain('is the store itself');
    expect((await start(['--verify', store()])).code).toBe(0);
  });
  it('in a folder: N are kept, and one that holds more than the store is not among those that go', {
    timeout: TIME,
  }, async () => {
    await filled();
    const copies = at('copies');
    const named = (day: number) => join(copies, `thirdhand-2026-03-0${day}T030000Z.sqlite`);
    expect((await start(['--backup', `${copies}/`, '--keep', '2'])).code).toBe(0);
    const [first = ''] = listing(copies);
    expect(first).toMatch(/^thirdhand-\d{4}-\d\d-\d\dT\d{6}Z\.sqlite$/);
    for (const day of [1, 2, 3]) copyFileSync(join(copies, first), named(day));
    writeFileSync(join(copies, 'thirdhand-notes.txt'), 'mine');
    rmSync(join(copies, first));
    // A price later, one of the old ones has something that the store lost again.
    const fuller = at('fuller.sqlite');
    expect((await start(['--run', price(130), '--run', price(140)])).code).toBe(0);
    expect((await start(['--backup', fuller])).code).toBe(0);
    expect((await start(['--restore', named(1)])).code).toBe(0);
    copyFileSync(fuller, named(2));
    const { code, out } = await start(['--backup', copies, '--keep', '2']);
    expect(code).toBe(0);
    expect(out).toContain(`${named(2)} holds what the store does not (0 jobs, 4 prices`);
    const left = listing(copies);
    expect(left.map((name) => name.slice(0, 20))).toEqual([
      'thirdhand-2026-03-02',
      'thirdhand-2026-03-03',
      expect.stringMatching(/^thirdhand-20/),
      'thirdhand-notes.txt',
    ]);
    expect((await start(['--backup', at('copy.sqlite'), '--keep', '2'])).err).toContain('goes with a folder');
    expect((await start(['--backup', copies, '--keep', '0'])).err).toContain('--keep: expected at least 1');
    expect((await start(['--keep', '2'])).err).toContain('go with --backup');
  });
  it('of a store of an older version is made, and that store is not touched', { timeout: TIME }, async () => {
    mkdirSync(data);
    const raw = new Sqlite(store());
    raw.exec(migrations[0] ?? '');
    // "THND", which marks a file as the bot's.
    raw.pragma(`application_id = ${0x54484e44}`);
    raw.pragma('user_version = 1');
    raw.close();
    const before = readFileSync(store());
    expect(await start(['--backup', at('copy.sqlite')])).toMatchObject({
      code: 0,
      out: expect.stringContaining('It is of an older version (schema 1)'),
    });
    expect((await start(['--check'])).out).toContain('the next start brings it up to date');
    expect(readFileSync(store()).equals(before)).toBe(true);
    expect(listing(data)).toEqual(['thirdhand.sqlite']);
  });
});

describe('--verify', () => {
  it('finds a torn copy, a strange file and one that is not there', { timeout: TIME }, async () => {
    await filled(30);
    const copy = at('copy.sqlite');
    expect((await start(['--backup', copy])).code).toBe(0);
    const whole = readFileSync(copy);
    // Zeros in the middle, past the schema: what a disk makes of a block that it lost.
    const torn = Buffer.from(whole);
    torn.fill(0, torn.length - 4096 * 12, torn.length - 4096 * 4);
    writeFileSync(at('torn.sqlite'), torn);
    const told = await start(['--verify', at('torn.sqlite')]);
    expect(told.code).toBe(1);
    expect(`${told.out}${told.err}`).toMatch(/damaged/);
    expect(`${told.out}${told.err}`).not.toMatch(/is sound/);
    writeFileSync(at('letter.txt'), 'dear Ines');
    expect((await start(['--verify', at('letter.txt')])).err).toContain('is not a data file of this bot');
    expect((await start(['--verify', at('none.sqlite')])).err).toContain('There is no store at');
    expect(existsSync(at('none.sqlite'))).toBe(false);
  });
  it('says without the key that what is sealed was not tried, and with a wrong one that it does not open', {
    timeout: TIME,
  }, async () => {
    await filled();
    expect((await start(['--backup', at('copy.sqlite')])).code).toBe(0);
    const without = await start(['--verify', at('copy.sqlite')], at('bare'));
    expect(without).toMatchObject({
      code: 0,
      out: expect.stringMatching(/\d sealed texts? were not tried: the key is not at/),
    });
    await filled(1, at('other'));
    const wrong = await start(['--verify', at('copy.sqlite')], at('other'));
    expect(wrong).toMatchObject({ code: 1, out: expect.stringContaining('1 of 1 note cannot be opened') });
  });
});

describe('--restore', () => {
  it('puts a copy back, keeps the old store, and both are whole', { timeout: TIME }, async () => {
    await filled();
    expect((await start(['--backup', at('copy.sqlite')])).code).toBe(0);
    expect((await start(['--run', price(130)])).code).toBe(0);
    const { code, out } = await start(['--restore', at('copy.sqlite')]);
    expect(code).toBe(0);
    const [old = ''] = listing(data).filter((name) => name.includes('.replaced-'));
    expect(out).toContain(`What was there before is ${join(data, old)}.`);
    expect(statSync(store()).mode & 0o777).toBe(0o600);
    expect((await start(['--verify', join(data, old)])).out).toContain('3 prices');
    expect((await start(['--check'])).out).toContain('2 prices');
    expect((await start(['--in', 'direct', '--run', '/note list'])).out).toContain('back glass ordered');
    // And there again.
    expect((await start(['--restore', join(data, old)])).code).toBe(0);
    expect((await start(['--check'])).out).toContain('3 prices');
  });
  it('keeps both old stores when two copies are put back within one second', { timeout: TIME }, async () => {
    await filled();
    expect((await start(['--backup', at('copy.sqlite')])).code).toBe(0);
    const now = ['--now', '2026-03-02T09:00:00Z'];
    for (let time = 1; time <= 2; time += 1)
      expect((await start(['--restore', at('copy.sqlite'), ...now])).code).toBe(0);
    expect(listing(data).filter((name) => /\.replaced-[^-]+-[^-]+-[^-]+?(-\d)?$/.test(name))).toHaveLength(2);
  });
  it('puts nothing back that is torn', { timeout: TIME }, async () => {
    await filled(30);
    const torn = Buffer.from(readFileSync(store()));
    torn.fill(0, torn.length - 4096 * 12, torn.length - 4096 * 4);
    writeFileSync(at('torn.sqlite'), torn);
    const before = readFileSync(store());
    const { code, err } = await start(['--restore', at('torn.sqlite')]);
    expect(code).toBe(1);
    expect(err).toMatch(/damaged/);
    expect(readFileSync(store()).equals(before)).toBe(true);
    expect(listing(data)).toEqual(['key', 'thirdhand.sqlite']);
  });
  it('takes the place of a torn store, which is kept', { timeout: TIME }, async () => {
    await filled();
    expect((await start(['--backup', at('copy.sqlite')])).code).toBe(0);
    writeFileSync(store(), 'torn');
    expect((await start(['--restore', at('copy.sqlite')])).code).toBe(0);
    expect((await start(['--check'])).code).toBe(0);
    const [old = ''] = listing(data).filter((name) => name.includes('.replaced-'));
    expect(readFileSync(join(data, old), 'utf8')).toBe('torn');
  });
  it('is refused while a bot has the store open', { timeout: TIME }, async () => {
    await filled();
    expect((await start(['--backup', at('copy.sqlite')])).code).toBe(0);
    // Read first: a process that closes a file lets go of all its locks on it.
    const before = readFileSync(store());
    const other = new Sqlite(store());
    other.prepare('SELECT count(*) FROM jobs').get();
    expect((await start(['--restore', at('copy.sqlite')])).err).toMatch(/^thirdhand: The store is in use/);
    other.close();
    expect(readFileSync(store()).equals(before)).toBe(true);
    expect(listing(data)).toEqual(['key', 'thirdhand.sqlite']);
  });
});

describe('a store from a newer version', () => {
  it('names the copy to go back to, and --restore goes back to it', { timeout: TIME }, async () => {
    await filled();
    const copy = `${store()}.before-${migrations.length + 1}`;
    expect((await start(['--backup', copy])).code).toBe(0);
    // Copies that this version cannot read, or that are older, are not the one.
    copyFileSync(copy, `${store()}.before-${migrations.length + 2}`);
    copyFileSync(copy, `${store()}.before-2`);
    const raw = new Sqlite(store());
    raw.pragma(`user_version = ${migrations.length + 1}`);
    raw.close();
    const refused = await start(['--run', '/family list']);
    expect(refused.code).toBe(1);
    expect(refused.err).toContain(
      `Or go back to the copy from before the update, without what was said since: --restore ${copy}\n`,
    );
    expect((await start(['--restore', copy])).code).toBe(0);
    expect((await start(['--check'])).out).toContain('2 prices');
  });
});

describe('a copy under load', () => {
  it('is made while the store is written to without a pause', { timeout: TIME }, async () => {
    await filled();
    const lines = Array.from({ length: 400 }, (_, index) => `${price(1000 + index)}\n`).join('');
    const writer = run({ arguments: ['--data', data, '--as', 'Ines:steward'], input: lines });
    expect(await says(writer, '1,000.00')).toBe(true);
    const { code, out } = await start(['--backup', at('copy.sqlite')]);
    expect({ code, sound: out.includes('it is sound') }).toEqual({ code: 0, sound: true });
    await writer.ended;
  });
});
