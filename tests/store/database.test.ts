import { existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { copyStore, ForeignFile, NewerFile, openDatabase } from '../../shared/store/index.ts';
import { migrations } from '../../shared/store/migrations.ts';
import { actor } from '../actors.ts';
import { testSealer } from '../sealer.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-store-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));
const at = (name: string) => join(folder, name);
const now = new Date('2026-03-02T09:00:00Z');

describe('opening', () => {
  it('makes a file that only its owner can read, and finds what was saved when opened again', () => {
    const path = at('store.db');
    const first = openDatabase(path, testSealer);
    first.collectives.create('Tin Shed', { currency: 'NZD' });
    expect(statSync(path).mode & 0o777).toBe(0o600);
    first.close();
    const second = openDatabase(path, testSealer);
    expect(second.collectives.find('tin-shed')?.settings.currency).toBe('NZD');
    expect(second.check()).toEqual([]);
    second.close();
    expect(existsSync(`${path}.before-1`)).toBe(false);
  });

  it('has the settings that keep what was committed, and erase what was deleted', () => {
    const path = at('store.db');
    const database = openDatabase(path, testSealer);
    const store = database.of(database.collectives.create('Tin Shed'));
    store.people.meet('terminal:Ines', 'Plum', now);
    store.models.save({
      name: 'Marmalade-Quince '.repeat(30),
      family: 'f',
      launched: null,
      newPrice: null,
      by: actor('Ines'),
      at: now,
    });
    for (const { id } of store.models.list()) store.models.remove(id);
    store.requests.save('r-1', 'Damson', now);
    expect(store.requests.answered('r-1')).toBe('Damson');
    database.close();
    const raw = new Sqlite(path);
    expect(raw.pragma('journal_mode', { simple: true })).toBe('wal');
    raw.close();
    const bytes = readFileSync(path, 'latin1');
    expect(bytes).toContain('Plum');
    expect(bytes).not.toContain('Marmalade-Quince');
    expect(bytes).not.toContain('Damson');
  });

  it('refuses a file from a newer version and leaves it as it was', () => {
    const path = at('store.db');
    openDatabase(path, testSealer, [...migrations, 'CREATE TABLE later (id INTEGER) STRICT']).close();
    const before = readFileSync(path);
    expect(() => openDatabase(path, testSealer)).toThrow(NewerFile);
    expect(() => openDatabase(path, testSealer)).toThrow(
      `schema ${migrations.length + 1}; this version knows ${migrations.length}`,
    );
    expect(readFileSync(path).equals(before)).toBe(true);
  });

  it('refuses a file that is not its own: text, or the database of something else', () => {
    writeFileSync(at('letter.txt'), 'Dear bench, this is no database at all. '.repeat(40));
    expect(() => openDatabase(at('letter.txt'), testSealer)).toThrow(ForeignFile);
    const other = new Sqlite(at('other.db'));
    other.exec('CREATE TABLE recipes (id INTEGER)');
    other.close();
    expect(() => openDatabase(at('other.db'), testSealer)).toThrow(ForeignFile);
  });
});

describe('schema steps', () => {
  const later = 'CREATE TABLE extra (id INTEGER PRIMARY KEY, word TEXT NOT NULL) STRICT';

  it('brings an older file up to date, and keeps a copy from before', () => {
    const path = at('store.db');
    const old = openDatabase(path, testSealer);
    old.collectives.create('Tin Shed');
    old.close();
    const step = migrations.length + 1;
    const updated = openDatabase(path, testSealer, [...migrations, later]);
    expect(updated.collectives.list()).toHaveLength(1);
    updated.close();
    const copy = openDatabase(`${path}.before-${step}`, testSealer);
    expect(copy.collectives.find('Tin Shed')?.name).toBe('Tin Shed');
    copy.close();
    expect(statSync(`${path}.before-${step}`).mode & 0o777).toBe(0o600);
  });

  it('does all missing steps or none', () => {
    const path = at('store.db');
    openDatabase(path, testSealer).close();
    const broken = [...migrations, later, 'CREATE TABLE extra (id INTEGER)'];
    expect(() => openDatabase(path, testSealer, broken)).toThrow('already exists');
    const raw = new Sqlite(path);
    expect(raw.pragma('user_version', { simple: true })).toBe(migrations.length);
    expect(raw.prepare("SELECT count(*) AS n FROM sqlite_schema WHERE name = 'extra'").get()).toEqual({
      n: 0,
    });
    raw.close();
  });
});

describe('the whole file', () => {
  it('saves all of a transaction or nothing', () => {
    const database = openDatabase(':memory:', testSealer);
    expect(() =>
      database.transaction(() => {
        database.collectives.create('Tin Shed');
        throw new Error('power cut');
      }),
    ).toThrow('power cut');
    expect(database.collectives.list()).toEqual([]);
    expect(database.transaction(() => database.collectives.create('Tin Shed').name)).toBe('Tin Shed');
  });

  it('is copied while in use', () => {
    const database = openDatabase(at('store.db'), testSealer);
    database.collectives.create('Tin Shed');
    copyStore(at('store.db'), at('copy.db'));
    database.close();
    const copy = openDatabase(at('copy.db'), testSealer);
    expect(copy.collectives.list().map(({ name }) => name)).toEqual(['Tin Shed']);
    expect(copy.check()).toEqual([]);
    copy.close();
    expect(statSync(at('copy.db')).mode & 0o777).toBe(0o600);
  });

  it('finds what is wrong with a file', () => {
    const path = at('store.db');
    openDatabase(path, testSealer).close();
    const raw = new Sqlite(path);
    raw.pragma('foreign_keys = OFF');
    raw.exec("INSERT INTO people VALUES (99, 'terminal:Ines', 'Ines', '2026-03-02T09:00:00.000Z')");
    raw.close();
    const database = openDatabase(path, testSealer);
    expect(database.check().join()).toContain('people points to no row of collectives');
    database.close();
  });

  it('throws for a row that does not fit its schema, rather than hand it on', () => {
    const path = at('store.db');
    const first = openDatabase(path, testSealer);
    first.collectives.create('Tin Shed');
    first.close();
    const raw = new Sqlite(path);
    raw.exec(`UPDATE collectives SET settings = '{"currency":"XYZ"}'`);
    raw.close();
    const database = openDatabase(path, testSealer);
    expect(() => database.collectives.list()).toThrow('ISO 4217');
    database.close();
  });
});
