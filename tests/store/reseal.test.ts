import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { newKey, type Sealer, sealerOf } from '../../shared/sealing/sealer.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { openJob } from '../some-job.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-reseal-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));
const path = () => join(folder, 'store.db');
const now = new Date('2026-03-02T09:00:00Z');
const INES = 'terminal:Ines';
const IMEI = '490154203237518';
const [older, newer] = [newKey(), newKey()];

const opened = (sealer: Sealer) => {
  const database = openDatabase(path(), sealer);
  const collective = database.collectives.find('Tin Shed') ?? database.collectives.create('Tin Shed');
  return { database, store: database.of(collective) };
};
/** Some of everything that is sealed, under the older key; more notes than are read at a time. */
function fill(notes = 600): void {
  const { database, store } = opened(sealerOf([older]));
  database.transaction(() => {
    for (let n = 1; n <= notes; n += 1) store.notes.add(INES, { text: `note ${n}`, job: null }, now);
    openJob(store, { name: 'Ines', key: INES }, now, IMEI);
    openJob(store, { name: 'Ines', key: INES }, now);
    store.photos.add(1, 'intake', 'a picture', { by: { key: INES, name: 'Ines' }, at: now });
    const records = new Map([['id', Buffer.from('a key')]]);
    database.sealedRecords.write('space', new Map([['shelf', { cleared: false, records }]]));
    store.requests.save('r-1', { a: 'reply' }, now);
    store.choices.save(
      [
        {
          token: 't-1',
          person: INES,
          label: 'Go',
          invoke: { command: 'note', action: 'list', options: {} },
          subject: null,
          revision: null,
        },
      ],
      now,
    );
  });
  database.close();
}
function expectWhole(sealer: Sealer, notes = 600): void {
  const { database, store } = opened(sealer);
  expect(store.notes.list(INES).map(({ text }) => text)).toEqual(
    Array.from({ length: notes }, (_, at) => `note ${notes - at}`),
  );
  expect(store.jobs.imeiOf(1)).toBe(IMEI);
  expect(store.jobs.imeiOf(2)).toBeNull();
  expect(store.photos.png(1, 1)).toBe('a picture');
  expect(store.requests.answered('r-1')).toEqual({ a: 'reply' });
  expect(store.choices.take('t-1', now)?.invoke.command).toBe('note');
  expect(database.sealedTexts().map(({ closed }) => closed)).toEqual([0, 0, 0, 0, 0, 0]);
  expect(database.sealedRecords.all('space').map(({ bytes }) => bytes.toString())).toEqual(['a key']);
  database.close();
}

describe('sealing anew', () => {
  it('puts all of it under the newer key, so that the older one is no longer needed', () => {
    fill();
    const { database } = opened(sealerOf([newer, older]));
    expect(database.reseal()).toEqual({ done: 605, left: 0 });
    expect(database.reseal()).toEqual({ done: 0, left: 0 });
    database.close();
    expectWhole(sealerOf([newer]));
    const lost = opened(sealerOf([older]));
    expect(lost.database.sealedElsewhere()).toBe(603);
    lost.database.close();
  });

  it('does all of it or nothing, wherever it is stopped', () => {
    fill(20);
    const real = sealerOf([newer, older]);
    for (let stop = 1; stop <= 23; stop += 1) {
      let count = 0;
      const { database } = opened({
        ...real,
        seal: (place, text) => {
          count += 1;
          if (count === stop) throw new Error('power cut');
          return real.seal(place, text);
        },
      });
      expect(() => database.reseal()).toThrow('power cut');
      database.close();
      expectWhole(sealerOf([older]), 20);
    }
    const { database } = opened(real);
    expect(database.reseal().done).toBe(25);
    database.close();
    expectWhole(sealerOf([newer]), 20);
  });

  it('leaves what was altered as it is, and says so', () => {
    fill(3);
    const raw = new Sqlite(path());
    raw.exec(
      "UPDATE notes SET sealed = substr(sealed, 1, 20) || 'AAAA' || substr(sealed, 25) WHERE number = 2",
    );
    raw.close();
    const { database, store } = opened(sealerOf([newer, older]));
    expect(database.reseal()).toEqual({ done: 7, left: 1 });
    expect(store.notes.list(INES).map(({ text }) => text)).toEqual(['note 3', null, 'note 1']);
    expect(database.sealedTexts()[0]).toEqual({ kind: 'note', all: 3, closed: 1 });
    // Under keys that are here, all of them.
    expect(database.sealedElsewhere()).toBe(0);
    database.close();
  });

  it('leaves what was sealed under a key that is not here, which is not its to say', () => {
    fill(3);
    const { database } = opened(sealerOf([newer, newKey()]));
    expect(database.reseal()).toEqual({ done: 0, left: 0 });
    database.close();
    expectWhole(sealerOf([older]), 3);
  });

  it('leaves nothing that the older key could open, in file or journal', async () => {
    fill(30);
    const { readFileSync, existsSync } = await import('node:fs');
    const { database } = opened(sealerOf([newer, older]));
    const disk = () =>
      [path(), `${path()}-wal`]
        .map((file) => (existsSync(file) ? readFileSync(file, 'latin1') : ''))
        .join('');
    expect(disk()).toContain(`s1.${older.id}.`);
    database.reseal();
    expect(disk()).not.toContain(`s1.${older.id}.`);
    expect(disk()).toContain(`s1.${newer.id}.`);
    database.close();
  });
});
