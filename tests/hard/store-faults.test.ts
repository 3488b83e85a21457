/** What goes wrong with disk, file, clock and settings: each gets one clear line, and what was saved stays. */
import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { replySchema } from '../../commands/framework/reply.ts';
import { migrations } from '../../shared/store/migrations.ts';
import { openSealedStore } from '../../src/store/sealed-store.ts';
import { type RunParts, run, runToEnd } from '../kills/programs.ts';

const TIME = 600_000;
let folder = '';
let data = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-hard-'));
  data = join(folder, 'data');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

type Ended = Awaited<ReturnType<typeof runToEnd>>;
const start = (given: readonly string[], more: Partial<RunParts> = {}): Promise<Ended> =>
  runToEnd({ arguments: ['--data', data, '--as', 'Ines:steward', ...given], ...more });
const repliesOf = ({ out }: Ended) =>
  out
    .split('\n')
    .filter(Boolean)
    .map((line) => replySchema.parse(JSON.parse(line)));

const NAME = '/family name model:"Orrin K3" as:glued-front-home-sensor';
const price = (amount: number) => `/prices add "Orrin K3" price:${amount} sure:yes`;
/** A store with a model and one price of 100. */
async function filled(): Promise<void> {
  const { code, err } = await start(['--run', NAME, '--run', price(100)]);
  expect({ code, err }).toEqual({ code: 0, err: '' });
}
const priceRow = z.object({ price: z.number() });
/** The prices that the store has, in the order in which they came; the file must be sound. */
function prices(file = join(data, 'thirdhand.sqlite')): number[] {
  const raw = new Sqlite(file);
  try {
    expect(raw.pragma('integrity_check', { simple: true })).toBe('ok');
    return z
      .array(priceRow)
      .parse(raw.prepare('SELECT price FROM sightings ORDER BY number').all())
      .map((row) => row.price / 100);
  } finally {
    raw.close();
  }
}
const oneLine = ({ code, out, err }: Ended, words: RegExp): void => {
  expect(err).toMatch(words);
  expect(err.trimEnd().split('\n')).toHaveLength(1);
  expect({ code, out }).toEqual({ code: 1, out: '' });
};
/** A longer stream of prices, from 1000 on. */
const stream = (count: number): string =>
  Array.from({ length: count }, (_, index) => `${price(1000 + index)} note:"${'x'.repeat(180)}"\n`).join('');

/** Whether a file system can be laid over a folder here, for one process. */
const canMount =
  spawnSync('unshare', ['-rm', 'sh', '-c', 'mount -t tmpfs -o size=1m none /mnt']).status === 0;
const shell = (script: string): string[] => ['sh', '-c', `${script}; exec "$@"`, 'sh'];
const mounted = (script: string): string[] => ['unshare', '-rm', ...shell(script)];

const FULL = /^The disk here is full, or takes nothing more. Nothing was saved/;

/** What was answered as done is there, and nothing else. */
function onlyWhatWasSaid(ended: Ended, file?: string): number {
  const replies = repliesOf(ended);
  const done = replies.filter(({ outcome }) => outcome === 'answered').length;
  expect(prices(file)).toEqual([100, ...Array.from({ length: done }, (_, index) => 1000 + index)]);
  return done;
}

describe('a disk that takes no more', () => {
  it('refuses what does not fit, with a clear word, and loses nothing', { timeout: TIME }, async () => {
    await filled();
    // Blocks of 512 bytes: what the journal may grow by is soon used up. The signal for that is ignored, as by a daemon.
    const blocks = Math.ceil(statSync(join(data, 'thirdhand.sqlite')).size / 512) + 200;
    const ended = await start(['--json'], {
      input: stream(60),
      within: shell(`trap '' XFSZ; ulimit -f ${blocks}`),
    });
    const refused = repliesOf(ended).filter(({ outcome }) => outcome === 'fault');
    expect(refused.length).toBeGreaterThan(0);
    expect(refused.every(({ title }) => FULL.test(title))).toBe(true);
    expect(ended.code).toBe(1);
    expect(onlyWhatWasSaid(ended)).toBeGreaterThan(0);
    // With room again it goes on.
    expect((await start(['--run', price(55)])).code).toBe(0);
    expect(prices().at(-1)).toBe(55);
  });

  it.runIf(canMount)('that is really full: the same', { timeout: TIME }, async () => {
    await filled();
    const copy = join(folder, 'copy');
    mkdirSync(copy);
    const small = `cp ${data}/* ${folder}/keep/ && mount -t tmpfs -o size=900k none ${data} && cp ${folder}/keep/* ${data}/`;
    mkdirSync(join(folder, 'keep'));
    // What lies on the small disk is copied out at the end, since it goes with its process.
    const ended = await start(['--json'], {
      input: stream(300),
      within: [
        'unshare',
        '-rm',
        'sh',
        '-c',
        `${small} && "$@"; code=$?; cp ${data}/* ${copy}/; exit $code`,
        'sh',
      ],
    });
    const refused = repliesOf(ended).filter(({ outcome }) => outcome === 'fault');
    expect(refused.length).toBeGreaterThan(0);
    expect(refused.every(({ title }) => FULL.test(title))).toBe(true);
    expect(onlyWhatWasSaid(ended, join(copy, 'thirdhand.sqlite'))).toBeGreaterThan(0);
  });

  it.runIf(canMount)('at a first start says so in one line', { timeout: TIME }, async () => {
    mkdirSync(data);
    oneLine(
      await start(['--run', NAME], { within: mounted(`mount -t tmpfs -o size=8k none ${data}`) }),
      /^thirdhand: The disk is full, or takes nothing more/,
    );
  });
});

describe('a store that may only be read', () => {
  const readOnly = (): Partial<RunParts> => {
    if (process.getuid?.() === 0)
      return { within: mounted(`mount --bind ${data} ${data}; mount -o remount,bind,ro ${data}`) };
    chmodSync(join(data, 'thirdhand.sqlite'), 0o400);
    chmodSync(data, 0o500);
    return {};
  };
  const can = canMount || process.getuid?.() !== 0;
  it.runIf(can)('is told in one line, and left as it is', { timeout: TIME }, async () => {
    await filled();
    const before = readFileSync(join(data, 'thirdhand.sqlite'));
    oneLine(await start(['--run', price(120)], readOnly()), /^thirdhand: The data folder cannot be written/);
    chmodSync(data, 0o700);
    chmodSync(join(data, 'thirdhand.sqlite'), 0o600);
    expect(readFileSync(join(data, 'thirdhand.sqlite')).equals(before)).toBe(true);
    expect((await start(['--run', price(120)])).code).toBe(0);
    expect(prices()).toEqual([100, 120]);
  });
});

describe('a store that another process holds', () => {
  it('refuses what cannot be saved now, kindly, and takes it later', { timeout: TIME }, async () => {
    await filled();
    const other = new Sqlite(join(data, 'thirdhand.sqlite'));
    other.exec('BEGIN IMMEDIATE');
    const ended = await start(['--json', '--run', price(120)]);
    expect(repliesOf(ended)).toMatchObject([
      { outcome: 'fault', title: 'Another program holds the store just now. Nothing was saved.' },
    ]);
    expect(ended.code).toBe(1);
    other.exec('ROLLBACK');
    other.close();
    expect((await start(['--run', price(130)])).code).toBe(0);
    expect(prices()).toEqual([100, 130]);
  });
  it('for good is told in one line at the start', { timeout: TIME }, async () => {
    await filled();
    const other = new Sqlite(join(data, 'thirdhand.sqlite'));
    other.pragma('locking_mode = EXCLUSIVE');
    other.exec('BEGIN IMMEDIATE; CREATE TABLE t (x); ROLLBACK');
    oneLine(await start(['--run', price(120)]), /^thirdhand: The store is in use by another bot/);
    other.close();
    expect(prices()).toEqual([100]);
  });
});

describe('a clock that is set', () => {
  it('back and forward loses nothing, and everything still works', { timeout: TIME }, async () => {
    await filled();
    const at = ['2026-03-02T09:00', '2019-01-01T00:00', '2041-12-31T23:59', '2026-03-02T09:05'];
    for (const [index, now] of at.entries()) {
      const open = `/job open "Orrin K3" ownership:shown lock:free stolen:clear`;
      const ended = await start([
        '--json',
        '--now',
        now,
        '--tick',
        '--run',
        price(200 + index),
        '--run',
        open,
      ]);
      expect({ code: ended.code, err: ended.err.replace(/^.* clock the time went .*\n/, '') }).toEqual({
        code: 0,
        err: '',
      });
    }
    expect(prices()).toEqual([100, 200, 201, 202, 203]);
    const jobs = await start(['--json', '--now', '2026-03-02T09:10', '--run', '/job list']);
    expect(JSON.stringify(repliesOf(jobs))).toMatch(/4/);
    expect((await start(['--check'])).code).toBe(0);
  });
});

describe('a torn file', () => {
  it('of the key is told in one line, and the store is not touched', { timeout: TIME }, async () => {
    await filled();
    const key = join(data, 'key');
    const whole = readFileSync(key);
    truncateSync(key, 20);
    oneLine(await start(['--run', price(120)]), /key is not a key: expected 32 bytes in base64/);
    truncateSync(key, 0);
    oneLine(await start(['--run', price(120)]), /key is not a key: expected 32 bytes in base64/);
    writeFileSync(key, whole);
    expect((await start(['--run', price(120)])).code).toBe(0);
    expect(prices()).toEqual([100, 120]);
  });

  it('of a collective’s settings is told in words, and nothing is overwritten', {
    timeout: TIME,
  }, async () => {
    await filled();
    const raw = new Sqlite(join(data, 'thirdhand.sqlite'));
    const set = (text: string) => raw.prepare('UPDATE collectives SET settings = ?').run(text);
    const saved = z
      .object({ settings: z.string() })
      .parse(raw.prepare('SELECT settings FROM collectives').get());
    set(saved.settings.slice(0, 30));
    oneLine(
      await start(['--run', price(120)]),
      /^thirdhand: The store is damaged \(a row of collectives cannot be read: settings: not JSON\)/,
    );
    set(saved.settings);
    raw.close();
    expect((await start(['--run', price(120)])).code).toBe(0);
    expect(prices()).toEqual([100, 120]);
  });

  it('of the store is told in one line, and a copy takes its place', { timeout: TIME }, async () => {
    await filled();
    const copy = join(folder, 'copy.sqlite');
    expect((await start(['--backup', copy])).code).toBe(0);
    const file = join(data, 'thirdhand.sqlite');
    truncateSync(file, Math.floor(statSync(file).size / 2 / 4096) * 4096);
    const torn = await start(['--run', price(120)]);
    expect(torn.code).toBe(1);
    expect(`${torn.out}${torn.err}`).toMatch(/damaged/);
    for (const more of ['', '-wal', '-shm']) rmSync(`${file}${more}`, { force: true });
    copyFileSync(copy, file);
    expect((await start(['--run', price(130)])).code).toBe(0);
    expect(prices()).toEqual([100, 130]);
  });
});

describe('a store of another version', () => {
  it('newer: one line, and not a byte is changed', { timeout: TIME }, async () => {
    await filled();
    const file = join(data, 'thirdhand.sqlite');
    const raw = new Sqlite(file);
    raw.pragma(`user_version = ${migrations.length + 1}`);
    raw.pragma('wal_checkpoint(TRUNCATE)');
    raw.close();
    const before = readFileSync(file);
    oneLine(await start(['--run', price(120)]), /is from a newer version .* Update the bot/);
    expect(readFileSync(file).equals(before)).toBe(true);
  });

  it.each(['before-commit:1', 'after-commit:1'])(
    'older, and killed %s of the update: the next start has all',
    { timeout: TIME },
    async (killAt) => {
      mkdirSync(data);
      const file = join(data, 'thirdhand.sqlite');
      const raw = new Sqlite(file);
      raw.exec(migrations[0] ?? '');
      // "THND", which marks a file as the bot's.
      raw.pragma(`application_id = ${0x54484e44}`);
      raw.pragma('user_version = 1');
      raw.exec(`INSERT INTO collectives (name, name_key, settings) VALUES ('Home bench', 'homebench', '{}')`);
      raw.close();
      expect((await start(['--run', NAME], { killAt })).code).toBeNull();
      const ended = await start(['--run', NAME, '--run', price(100)]);
      expect(ended.err).toBe('');
      expect(ended.code).toBe(0);
      expect(prices()).toEqual([100]);
      expect(existsSync(`${file}.before-2`)).toBe(true);
      expect((await start(['--check'])).code).toBe(0);
    },
  );
});

describe('a backup while another process writes', () => {
  it('is whole each time, and takes the place of the store', { timeout: TIME }, async () => {
    await filled();
    const writer = run({
      arguments: ['--data', data, '--as', 'Ines:steward', '--json'],
      input: stream(400),
    });
    const saved: number[] = [];
    let copies = 0;
    while (writer.alive() && copies < 6) {
      const heard = writer.out().split('\n').length - 1;
      const copy = join(folder, `copy-${copies}.sqlite`);
      expect((await start(['--backup', copy])).code).toBe(0);
      const there = prices(copy);
      // What was acknowledged before the backup began is in it, in order and without a gap.
      expect(there).toEqual([100, ...Array.from({ length: there.length - 1 }, (_, index) => 1000 + index)]);
      expect(there.length - 1).toBeGreaterThanOrEqual(heard);
      saved.push(there.length);
      copies += 1;
    }
    await writer.ended;
    expect(onlyWhatWasSaid({ code: 0, out: writer.out(), err: '' })).toBe(400);
    expect(saved.length).toBeGreaterThan(0);
    // Restored: the copy as the store, with the key.
    const back = join(folder, 'restored');
    mkdirSync(back, { mode: 0o700 });
    copyFileSync(join(folder, 'copy-0.sqlite'), join(back, 'thirdhand.sqlite'));
    copyFileSync(join(data, 'key'), join(back, 'key'));
    const { database, lines } = openSealedStore({ data: back });
    expect({ lines, wrong: database.check() }).toEqual({ lines: [], wrong: [] });
    database.close();
    const on = run({ arguments: ['--data', back, '--as', 'Ines:steward', '--run', price(7)] });
    expect((await on.ended).code).toBe(0);
    expect(prices(join(back, 'thirdhand.sqlite'))).toHaveLength((saved[0] ?? 0) + 1);
  });

  it('that cannot be finished leaves the copy from before as it was', { timeout: TIME }, async () => {
    await filled();
    const copy = join(folder, 'copy.sqlite');
    expect((await start(['--backup', copy])).code).toBe(0);
    const before = readFileSync(copy);
    expect((await start(['--run', price(120)])).code).toBe(0);
    const ended = await start(['--backup', copy], { within: shell(`trap '' XFSZ; ulimit -f 8`) });
    oneLine(ended, /^thirdhand: /);
    expect(readFileSync(copy).equals(before)).toBe(true);
    expect(prices()).toEqual([100, 120]);
  });
});
