/** A store from before keys were kept everywhere is brought up to date: whose a name was is found, or left open. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { openDatabase } from '../../shared/store/index.ts';
import { migrations } from '../../shared/store/migrations.ts';
import { testSealer } from '../sealer.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-actors-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

/** The step that brought the keys. */
const STEP = migrations.findIndex((step) => step.includes('ADD COLUMN started_key'));
const AT = '2026-03-02T09:00:00.000Z';
const amount = { minor: 0, currency: 'AUD' };
const promise = {
  verdict: 'restore',
  mean: amount,
  low: amount,
  high: amount,
  minutes: 1,
  chanceRestored: 1,
  odds: {},
};
const ending = (by: string) => ({
  realised: null,
  kept: false,
  fault: null,
  remedy: null,
  parts: [],
  sealed: null,
  by,
  taught: { faults: [], outcomes: [] },
});

/** An older file: Ines is one person, two go by Sam, Moss was met in another collective only, and one has left. */
function olderFile(path: string): void {
  const old = openDatabase(path, testSealer, migrations.slice(0, STEP));
  old.collectives.create('Tin Shed');
  old.collectives.create('Loft');
  old.close();
  const file = new Sqlite(path);
  const run = (statement: string, ...values: (string | number | null)[]) =>
    file.prepare(statement).run(...values);
  for (const [place, key, name] of [
    [1, 'discord:1', 'Ines'],
    [1, 'discord:2', 'Sam'],
    [1, 'matrix:@sam:a', 'Sam'],
    [2, 'discord:3', 'Moss'],
    [2, 'discord:9', 'Ines'],
  ] as const)
    run('INSERT INTO people VALUES (?, ?, ?, ?)', place, key, name, AT);
  ['Ines', 'Sam', 'Moss', 'someone who left'].forEach((name, index) => {
    const number = index + 1;
    run(
      `INSERT INTO traces (collective, number, family, model, symptoms, started_by, at, state, revision)
       VALUES (1, ?, 'f', NULL, '[]', ?, ?, 'open', 1)`,
      number,
      name,
      AT,
    );
    run(
      `INSERT INTO trace_steps (collective, trace, seq, kind, ref, by, at) VALUES (1, ?, 1, 'cannot', 'x', ?, ?)`,
      number,
      name,
      AT,
    );
    run(
      `INSERT INTO models (collective, name, name_key, family, by, at) VALUES (1, ?, ?, 'f', ?, ?)`,
      `M${number}`,
      `m${number}`,
      name,
      AT,
    );
    const key = name === 'someone who left' ? `left:${number}` : 'discord:1';
    run(
      `INSERT INTO jobs (collective, number, family, came, price, currency, grade, symptoms, promise, opened_by,
         opened_key, at, holder, holder_key, revision, ended, ended_at, ending)
       VALUES (1, ?, 'f', 'given', 0, 'AUD', 0, '[]', ?, ?, ?, ?, 'Ines', 'discord:1', 1, 'passed', ?, ?)`,
      number,
      JSON.stringify(promise),
      name === 'someone who left' ? name : 'Ines',
      key,
      AT,
      AT,
      JSON.stringify(ending(name)),
    );
    run(
      `INSERT INTO job_entries (collective, job, seq, entry, by, by_key, at, struck_by, struck_at, struck_why)
       VALUES (1, ?, 1, ?, 'Ines', 'discord:1', ?, ?, ?, 'twice')`,
      number,
      JSON.stringify({ kind: 'handed', from: name, to: 'Ines' }),
      AT,
      name,
      AT,
    );
    run(
      `INSERT INTO swaps (collective, number, family, component, grade, board, effect, saw, mended, by, by_key, at,
         aside_by, aside_at, aside_why)
       VALUES (1, ?, 'f', 'battery', 'used', 'same', 'free', '', '', 'Ines', 'discord:1', ?, ?, ?, 'no')`,
      number,
      AT,
      name,
      AT,
    );
  });
  file.close();
}

it('gives older rows the key of the one person of that name, and none where there are several', () => {
  const path = join(folder, 'store.db');
  olderFile(path);
  const database = openDatabase(path, testSealer);
  expect(database.check()).toEqual([]);
  const shed = database.collectives.find('Tin Shed');
  if (!shed) throw new Error('the collective is gone');
  const store = database.of(shed);
  const expected = [
    { key: 'discord:1', name: 'Ines' },
    { key: null, name: 'Sam' },
    { key: null, name: 'Moss' },
    { key: null, name: 'someone who left' },
  ];
  expected.forEach((actor, index) => {
    const number = index + 1;
    const trace = store.traces.get(number);
    expect(trace?.startedBy).toEqual(actor);
    expect(trace?.steps.map(({ by }) => by)).toEqual([actor]);
    expect(store.models.findByName(`M${number}`)?.by).toEqual(actor);
    const job = store.jobs.get(number);
    expect(job?.ended?.ending).toEqual({ ...ending(''), by: actor });
    expect(job?.entries).toMatchObject([
      { by: expected[0], struck: { by: actor }, entry: { kind: 'handed', from: actor, to: expected[0] } },
    ]);
    expect(store.swaps.get(number)?.aside?.by).toEqual(actor);
  });

  // What has the key goes with an erasure; what has none is counted, and stays.
  const held = store.personData.read('discord:2', 'Sam');
  expect(held.unkeyed).toEqual({ names: ['Sam'], records: 7 });
  expect(held.rows.traces).toEqual([]);
  store.personData.erase('discord:1', 'Ines');
  expect(store.traces.get(1)?.startedBy.name).toBe('someone who left');
  expect(store.traces.get(2)?.startedBy).toEqual({ key: null, name: 'Sam' });
  database.close();
});

it('was told from what keeps every name: the older file itself has no key there', () => {
  const path = join(folder, 'store.db');
  olderFile(path);
  const file = new Sqlite(path);
  expect(() => file.prepare('SELECT started_key FROM traces')).toThrow('no such column');
  file.close();
  expect(STEP).toBeGreaterThan(0);
});
