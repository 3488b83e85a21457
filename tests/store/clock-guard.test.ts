/** Nothing is erased because of a time that may be wrong: whatever goes when it is old. */
import { existsSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { eraseOldNotes } from '../../shared/notes/kept.ts';
import { type Database, openDatabase, type Store } from '../../shared/store/index.ts';
import { retentionOf } from '../../src/clock/retention.ts';
import { testSealer } from '../sealer.ts';
import { closeJob, openJob } from '../some-job.ts';

const DAY = 24 * 3600_000;
const start = new Date('2026-03-02T09:00:00Z');
const daysOn = (days: number) => new Date(start.getTime() + days * DAY);
const ines = { name: 'Ines', key: 'terminal:Ines' };

let folder = '';
let path = '';
let database: Database;
let store: Store;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-guard-'));
  path = join(folder, 'store.sqlite');
  database = openDatabase(path, testSealer);
  store = database.of(database.collectives.create('Tin Shed'));
  const job = openJob(store, ines, start);
  store.notes.add(ines.key, { text: 'on the job', job }, start);
  closeJob(store, job, start);
  store.choices.save([choice('old')], start);
  store.requests.save('old', { title: 'x' }, start);
  store.links.give(ines.key, start);
  database.surfaceState.set('matrix', 'event:1', 'x', start);
});
afterEach(() => {
  database.close();
  rmSync(folder, { recursive: true, force: true });
});

const choice = (token: string) => ({
  token,
  person: null,
  label: 'Show it',
  invoke: { command: 'help', action: '', options: {} },
  subject: null,
  revision: null,
});
/** All that is erased by age, at a time; what is left of it. */
function everyErasure(now: Date) {
  eraseOldNotes(database, now);
  store.notes.eraseOfJobsEndedBefore(now, now, ines.key);
  store.choices.save([choice(`new-${now.getTime()}`)], now);
  store.requests.save(`new-${now.getTime()}`, { title: 'x' }, now);
  store.links.give(ines.key, now);
  database.surfaceState.dropBefore('matrix', 'event:', now, now);
  return {
    notes: store.notes.count(ines.key),
    choice: store.choices.take('old', now) !== null,
    request: store.requests.answered('old') !== undefined,
    state: database.surfaceState.get('matrix', 'event:1') !== null,
  };
}
const all = { notes: 1, choice: true, request: true, state: true };
const none = { notes: 0, choice: false, request: false, state: false };

describe('what goes by age', () => {
  it('goes when its time is over', () => {
    for (let day = 0; day < 400; day += 20) database.clock.trusts(daysOn(day));
    expect(everyErasure(daysOn(400))).toEqual(none);
  });
  it('stays when the clock leapt, for a week, also over a restart', () => {
    database.clock.trusts(start);
    expect(everyErasure(daysOn(4000))).toEqual(all);
    database.close();
    database = openDatabase(path, testSealer);
    const [collective] = database.collectives.list();
    if (collective) store = database.of(collective);
    expect(everyErasure(daysOn(4006))).toEqual(all);
    expect(everyErasure(daysOn(4008))).toEqual(none);
  });
  it('stays at a time that somebody made up', () => {
    database.clock.hold();
    expect(everyErasure(daysOn(20))).toEqual(all);
    expect(everyErasure(daysOn(4000))).toEqual(all);
    expect(database.surfaceState.get('clock', 'seen')).toBe(start.toISOString());
  });
  it('may still be erased by hand', () => {
    database.clock.hold();
    expect(store.notes.eraseOfPerson(ines.key)).toBe(1);
  });
});

describe('copies from before an upgrade', () => {
  const copyOf = (step: number, days: number): string => {
    const file = `${path}.before-${step}`;
    writeFileSync(file, 'Quincewort');
    utimesSync(file, daysOn(days), daysOn(days));
    return file;
  };
  it('are listed, and erased thirty days after they were made, with a line in the log', () => {
    const [old, young] = [copyOf(3, -31), copyOf(4, -2)];
    writeFileSync(`${path}.before-us`, 'not one');
    expect(database.upgradeCopies().map(({ file }) => file)).toEqual([old, young]);
    const log: string[] = [];
    retentionOf(database, (_, what) => log.push(String(what)))(start);
    expect([old, young, `${path}.before-us`].map((file) => existsSync(file))).toEqual([false, true, true]);
    expect(log).toEqual([expect.stringContaining('before-3')]);
  });
  it('stay when the clock leapt', () => {
    const file = copyOf(3, -31);
    database.clock.trusts(start);
    const log: string[] = [];
    retentionOf(database, (_, what) => log.push(String(what)))(daysOn(4000));
    expect(existsSync(file)).toBe(true);
    expect(log).toEqual([expect.stringContaining('no note, and nothing else, is erased for 7 days')]);
  });
});
