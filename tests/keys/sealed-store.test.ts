import { spawn, spawnSync } from 'node:child_process';
import {
  chmodSync,
  cpSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { NoKey } from '../../shared/sealing/sealer.ts';
import { dropUnfinished, makeKeyFile, readKeyFile } from '../../src/store/keys.ts';
import { changeKey, closedLines, openSealedStore, type StoreParts } from '../../src/store/sealed-store.ts';
import { openJob } from '../some-job.ts';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const TIME = 600_000;
const now = new Date('2026-03-02T09:00:00Z');
const INES = 'terminal:Ines';
const IMEI = '490154203237518';
const base64 = (byte: number) => Buffer.alloc(32, byte).toString('base64');

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-keys-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));
const keyFile = (data = folder) => join(data, 'key');
const parts = (more: Partial<StoreParts> = {}): StoreParts => ({ data: folder, ...more });

/** Three notes, an IMEI, a kept reply and a choice. */
function fill(given: StoreParts): void {
  const { database } = openSealedStore(given);
  const store = database.of(database.collectives.create('Tin Shed'));
  for (const text of ['one', 'two', 'three']) store.notes.add(INES, { text, job: null }, now);
  openJob(store, { name: 'Ines', key: INES }, now, IMEI);
  store.requests.save('r-1', 'a reply', now);
  database.close();
}
/** What opens with the keys that a start finds, and what the start had to say. */
function start(given: StoreParts) {
  const { database, lines } = openSealedStore(given);
  const collective = database.collectives.find('Tin Shed');
  if (!collective) throw new Error('the collective is gone');
  const store = database.of(collective);
  const found = {
    notes: store.notes.list(INES).map(({ text }) => text),
    imei: (() => {
      try {
        return store.jobs.imeiOf(1);
      } catch {
        return 'closed';
      }
    })(),
    lines,
    closed: closedLines(database.sealedTexts()).map(({ line }) => line),
  };
  database.close();
  return found;
}
const whole = { notes: ['three', 'two', 'one'], imei: IMEI, lines: [], closed: [] };

describe('the key file', () => {
  it('is made at the first start, for its owner alone, and used from then on', () => {
    fill(parts());
    expect(statSync(keyFile()).mode & 0o777).toBe(0o600);
    const before = readFileSync(keyFile(), 'utf8');
    expect(Buffer.from(before, 'base64')).toHaveLength(32);
    expect(start(parts())).toEqual(whole);
    expect(readFileSync(keyFile(), 'utf8')).toBe(before);
    expect(readdirSync(folder).sort()).toEqual(['key', 'thirdhand.sqlite']);
  });

  it('is refused, and left as it is, when others can read it', () => {
    fill(parts());
    for (const mode of [0o640, 0o604, 0o644, 0o666]) {
      chmodSync(keyFile(), mode);
      expect(() => openSealedStore(parts())).toThrow(`chmod 600 ${keyFile()}`);
      expect(statSync(keyFile()).mode & 0o777).toBe(mode);
    }
    chmodSync(keyFile(), 0o400);
    expect(start(parts())).toEqual(whole);
  });

  it.each(['', '\n', 'word', base64(1).slice(1), `${base64(1)}${base64(2)}`, `${base64(1)}\nword`])(
    'is refused when it holds no key: %j',
    (text) => {
      writeFileSync(keyFile(), text, { mode: 0o600 });
      expect(() => openSealedStore(parts())).toThrow('is not a key: expected 32 bytes in base64');
      expect(() => openSealedStore(parts())).toThrow(/^(?!.*word)/s);
    },
  );

  it('is made once, when two starts are at it at the same time', () => {
    const first = makeKeyFile(keyFile());
    expect(makeKeyFile(keyFile())[0].id).toBe(first[0].id);
    expect(readdirSync(folder)).toEqual(['key']);
  });

  it('leaves nothing beside it that a killed start wrote', () => {
    // No process has a number as high as this (Linux allows 2^22 at most).
    writeFileSync(`${keyFile()}.99999999`, 'half');
    writeFileSync(`${keyFile()}.kept`, 'mine');
    writeFileSync(`${keyFile()}.1`, 'of a process that runs');
    dropUnfinished(keyFile());
    expect(readdirSync(folder).sort()).toEqual(['key.1', 'key.kept']);
  });
});

describe('the key as a setting', () => {
  it('is used without any file', () => {
    fill(parts({ key: base64(1) }));
    expect(existsSync(keyFile())).toBe(false);
    expect(start(parts({ key: base64(1) }))).toEqual(whole);
    expect(() => openSealedStore(parts({ key: 'word' }))).toThrow('THIRDHAND_KEY is not a key');
    expect(() => openSealedStore(parts({ key: base64(1), keyOld: 'word' }))).toThrow(
      'THIRDHAND_KEY_OLD is not a key',
    );
  });

  it('is changed by giving the old one too, once', () => {
    fill(parts({ key: base64(1) }));
    expect(() => changeKey(parts({ key: base64(1) }))).toThrow('THIRDHAND_KEY_OLD');
    const moved = start(parts({ key: base64(2), keyOld: base64(1) }));
    expect(moved).toEqual({
      ...whole,
      lines: [expect.stringContaining('THIRDHAND_KEY_OLD is no longer needed')],
    });
    expect(start(parts({ key: base64(2) }))).toEqual(whole);
    expect(existsSync(keyFile())).toBe(false);
  });

  it('opens what an older key sealed, such as a copy that was put back, with a key file too', () => {
    fill(parts({ key: base64(1) }));
    // The file's key is made, since there is one that opens the store.
    expect(start(parts({ keyOld: base64(1) })).notes).toEqual(whole.notes);
    expect(start(parts())).toEqual(whole);
  });
});

describe('a key that is lost', () => {
  const closed = [
    '3 of 3 notes cannot be opened: the key is not here, or they were altered.',
    '1 of 1 IMEI cannot be opened: the key is not here, or they were altered.',
    '1 of 1 kept reply cannot be opened: the key is not here, or they were altered.',
  ];
  it('with its file: the bot starts, says so in one line, makes no key, and adds nothing under none', () => {
    fill(parts());
    const key = readFileSync(keyFile());
    rmSync(keyFile());
    for (const makeKey of [true, false]) {
      expect(start(parts({ makeKey }))).toEqual({
        notes: [null, null, null],
        imei: 'closed',
        lines: [
          expect.stringMatching(/^4 sealed texts \(notes.*\) cannot be opened: the key, .*key, is not there/),
        ],
        closed,
      });
      expect(existsSync(keyFile())).toBe(false);
    }
    const { database } = openSealedStore(parts());
    const [collective] = database.collectives.list();
    if (!collective) throw new Error('the collective is gone');
    const store = database.of(collective);
    expect(() => store.notes.add(INES, { text: 'four', job: null }, now)).toThrow(NoKey);
    // What passes by itself is sealed all the same, so that the rest of the bot works.
    database.transaction(() => store.requests.save('r-1', 'anew', now));
    expect(store.requests.answered('r-1')).toBe('anew');
    database.close();
    // Put back, and all is well; only the reply in between is gone.
    writeFileSync(keyFile(), key, { mode: 0o600 });
    expect(start(parts())).toEqual({ ...whole, closed: [expect.stringContaining('kept reply')] });
  });

  it('with another in its place: the bot starts and says so, and keeps new notes under the new key', () => {
    fill(parts({ key: base64(1) }));
    const found = start(parts({ key: base64(2) }));
    expect(found).toMatchObject({ notes: [null, null, null], imei: 'closed', closed });
    expect(found.lines).toEqual([expect.stringContaining('sealed under a key that is not here')]);
    const { database } = openSealedStore(parts({ key: base64(2) }));
    const [collective] = database.collectives.list();
    if (!collective) throw new Error('the collective is gone');
    database.of(collective).notes.add(INES, { text: 'four', job: null }, now);
    database.close();
    expect(start(parts({ key: base64(2), keyOld: base64(1) })).notes).toEqual(['four', ...whole.notes]);
  });

  it('for good: --new-key makes a new one, and what was sealed stays closed', () => {
    fill(parts());
    rmSync(keyFile());
    expect(changeKey(parts()).join('\n')).toMatch(/4 sealed texts \(.*\) cannot be opened/);
    expect(readKeyFile(keyFile())).toHaveLength(1);
    const { database } = openSealedStore(parts());
    const [collective] = database.collectives.list();
    if (!collective) throw new Error('the collective is gone');
    expect(database.of(collective).notes.add(INES, { text: 'four', job: null }, now).text).toBe('four');
    database.close();
  });

  it('before anything was sealed: a new one is made, except by --check', () => {
    const { database } = openSealedStore(parts());
    database.collectives.create('Tin Shed');
    database.close();
    rmSync(keyFile());
    expect(start(parts({ makeKey: false })).lines).toEqual([]);
    expect(existsSync(keyFile())).toBe(false);
    expect(start(parts()).lines).toEqual([]);
    expect(existsSync(keyFile())).toBe(true);
  });
});

describe('a change of key', () => {
  it('seals everything under a new key and drops the old one', () => {
    fill(parts());
    const old = readKeyFile(keyFile());
    expect(changeKey(parts())[0]).toContain('sealed under the new key');
    const fresh = readKeyFile(keyFile());
    expect(fresh).toHaveLength(1);
    expect(fresh?.[0].id).not.toBe(old?.[0].id);
    expect(start(parts())).toEqual(whole);
    expect(statSync(keyFile()).mode & 0o777).toBe(0o600);
    expect(start(parts({ key: old?.[0].bytes.toString('base64') })).notes).toEqual([null, null, null]);
  });

  it('is not begun while a bot has the store open, which would go on sealing under the old key', {
    timeout: TIME,
  }, async () => {
    fill(parts());
    const before = readFileSync(keyFile(), 'utf8');
    const bot = spawn(
      process.execPath,
      [
        '-e',
        `const Sqlite = require('better-sqlite3'); const file = new Sqlite(${JSON.stringify(join(folder, 'thirdhand.sqlite'))});
         file.prepare('SELECT count(*) FROM notes').get(); console.log('open'); process.stdin.resume();`,
      ],
      { cwd: root },
    );
    await new Promise((resolve) => bot.stdout.once('data', resolve));
    expect(() => changeKey(parts())).toThrow(expect.objectContaining({ code: 'SQLITE_BUSY' }));
    expect(readFileSync(keyFile(), 'utf8')).toBe(before);
    // A change that was begun is not finished meanwhile, and both keys stay.
    writeFileSync(keyFile(), `${base64(3)}\n${before}`, { mode: 0o600 });
    expect(start(parts())).toEqual(whole);
    expect(readKeyFile(keyFile())).toHaveLength(2);
    const gone = new Promise((resolve) => bot.once('close', resolve));
    bot.stdin.end();
    bot.kill();
    await gone;
    expect(start(parts())).toEqual(whole);
    expect(readKeyFile(keyFile())?.map(({ bytes }) => bytes.toString('base64'))).toEqual([base64(3)]);
  });
});

describe('killed', () => {
  const program = join(root, 'tests', 'keys', 'stopped.ts');

  /** A folder as it was left by a process killed before its N-th step; null when it came to its end. */
  function stopped(from: string, what: 'open' | 'change', stop: number): string | null {
    const data = join(folder, `stopped-${what}-${stop}`);
    cpSync(from, data, { recursive: true });
    const { signal, status, stderr } = spawnSync(process.execPath, [program, data, what, String(stop)]);
    if (signal === 'SIGKILL') return data;
    expect(status, String(stderr)).toBe(0);
    return null;
  }
  const expectWhole = (data: string, step: number) => {
    expect(start({ data }), `after a kill before step ${step}`).toEqual(whole);
    expect(readKeyFile(keyFile(data)), `after a kill before step ${step}`).toHaveLength(1);
    expect(readdirSync(data).sort(), `after a kill before step ${step}`).toEqual(['key', 'thirdhand.sqlite']);
  };

  it('at every step of a change of key, nothing is lost and the next start finishes', {
    timeout: TIME,
  }, () => {
    const from = join(folder, 'before');
    fill({ data: from });
    let step = 1;
    for (let data = stopped(from, 'change', step); data !== null; data = stopped(from, 'change', step)) {
      expectWhole(data, step);
      step += 1;
    }
    // Five sealings and two writings of the key file at least; otherwise the steps were not seen.
    expect(step).toBeGreaterThan(10);
  });

  it('and again while that start finishes', { timeout: TIME }, () => {
    const from = join(folder, 'before');
    fill({ data: from });
    // As it is left when the change was killed before anything was sealed anew.
    writeFileSync(keyFile(from), `${base64(3)}\n${readFileSync(keyFile(from), 'utf8')}`);
    let step = 1;
    for (let data = stopped(from, 'open', step); data !== null; data = stopped(from, 'open', step)) {
      expectWhole(data, step);
      step += 1;
    }
    expect(step).toBeGreaterThan(6);
  });

  it('at every step of the first start, the next one starts', { timeout: TIME }, () => {
    const from = join(folder, 'empty');
    const { database } = openSealedStore({ data: from });
    database.collectives.create('Tin Shed');
    database.close();
    rmSync(keyFile(from));
    let step = 1;
    for (let data = stopped(from, 'open', step); data !== null; data = stopped(from, 'open', step)) {
      expect(start({ data }).lines).toEqual([]);
      expect(readdirSync(data).sort()).toEqual(['key', 'thirdhand.sqlite']);
      step += 1;
    }
    expect(step).toBeGreaterThan(3);
  });

  it('at any time at all', { timeout: TIME }, async () => {
    const from = join(folder, 'before');
    fill({ data: from });
    let killed = 0;
    for (let round = 0; round < 8; round += 1) {
      const data = join(folder, `round-${round}`);
      cpSync(from, data, { recursive: true });
      const child = spawn(process.execPath, [program, data, 'change', '0']);
      const ended = new Promise<NodeJS.Signals | null>((resolve) =>
        child.once('close', (_, signal) => resolve(signal)),
      );
      // The change begins once the program is loaded, about a tenth of a second after its start.
      await new Promise((resolve) => setTimeout(resolve, 60 + 20 * round));
      child.kill('SIGKILL');
      if ((await ended) === 'SIGKILL') killed += 1;
      expectWhole(data, round);
    }
    expect(killed).toBeGreaterThan(0);
  });
});
