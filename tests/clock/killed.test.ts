/** The process is killed (SIGKILL) at each step of posting; a fresh process goes on from what the store has. */
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Database, openDatabase } from '../../shared/store/index.ts';
import type { ClockStep } from '../../src/clock/post-once.ts';
import { testSealer } from '../sealer.ts';
import { finishJob } from './finished.ts';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const TIME = 600_000;
let folder = '';
let data = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
  data = join(folder, 'data.sqlite');
  open((database) => {
    const collective = database.collectives.create('Tin Shed', { zone: 'Australia/Sydney' });
    finishJob(database.of(collective), { endedAt: '2026-02-25T01:00:00Z' });
  });
});
afterEach(() => rmSync(folder, { recursive: true }));

function open<T>(work: (database: Database) => T): T {
  const database = openDatabase(data, testSealer);
  try {
    return work(database);
  } finally {
    database.close();
  }
}
const store = (database: Database) => {
  const collective = database.collectives.find('Tin Shed');
  if (!collective) throw new Error('no collective');
  return database.of(collective);
};
const post = () => open((database) => store(database).weeks.get('2026-W09', 'here'));

interface Ended {
  code: number | null;
  signal: string | null;
  err: string;
}
function tickOnce(place: 'chat' | 'files', now: string, moment = ''): Promise<Ended> {
  const child = spawn(process.execPath, ['tests/clock/tick-once.ts', data, folder, place, now, moment], {
    cwd: root,
  });
  let err = '';
  child.stderr.on('data', (chunk: Buffer) => {
    err += chunk.toString();
  });
  return new Promise((resolve) => {
    child.on('close', (code, signal) => resolve({ code, signal, err }));
  });
}
const killed = { code: null, signal: 'SIGKILL' };
const whole = { code: 0, signal: null, err: '' };
const room = () =>
  existsSync(join(folder, 'room')) ? readFileSync(join(folder, 'room'), 'utf8').trim().split('\n') : [];

const DUE = '2026-03-01T22:00:00Z';
const LATER = '2026-03-01T22:02:00Z';
const POSTED = 'post week-1-2026-W09 Week 2026-W09: 1 phone back in use';

const moments: (ClockStep | 'before-post' | 'after-post')[] = [
  'intent-unsaved',
  'intent-saved',
  'looked',
  'before-post',
  'after-post',
  'posted',
  'sent-unsaved',
  'sent-saved',
];

describe('the weekly post of a killed process', () => {
  it.each(moments)('%s: is there exactly once', { timeout: TIME }, async (moment) => {
    expect(await tickOnce('chat', DUE, moment)).toMatchObject(killed);
    expect(room().length).toBeLessThanOrEqual(1);
    expect(await tickOnce('chat', LATER)).toEqual(whole);
    expect(room()).toEqual([POSTED]);
    expect(post()).toMatchObject({ state: 'sent', message: 'week-1-2026-W09', tries: 0 });
  });
  it('is there exactly once when each try is killed, at one step after the other', {
    timeout: 2 * TIME,
  }, async () => {
    let minutes = 0;
    for (const moment of moments) {
      const { signal } = await tickOnce(
        'chat',
        new Date(Date.parse(DUE) + minutes * 60_000).toISOString(),
        moment,
      );
      // Once it is marked as sent no step is reached any more.
      if (signal === null) break;
      minutes = 2 * minutes + 2;
    }
    expect(await tickOnce('chat', new Date(Date.parse(DUE) + minutes * 60_000).toISOString())).toEqual(whole);
    expect(room()).toEqual([POSTED]);
    expect(post()?.state).toBe('sent');
  });
  it.each(['in-edit', 'edited', 'correction-unsaved', 'correction-saved'])(
    '%s: is put right, and stays one',
    { timeout: TIME },
    async (moment) => {
      expect(await tickOnce('chat', DUE)).toEqual(whole);
      open((database) => finishJob(store(database), { endedAt: '2026-02-26T01:00:00Z' }));
      expect(await tickOnce('chat', LATER, moment)).toMatchObject(killed);
      expect(await tickOnce('chat', '2026-03-01T22:04:00Z')).toEqual(whole);
      const lines = room();
      expect(lines.filter((line) => line.startsWith('post'))).toEqual([POSTED]);
      expect(lines.at(-1)).toBe('edit week-1-2026-W09 Week 2026-W09: 2 phones back in use');
      expect(post()?.said).toContain('2 phones back in use');
    },
  );
  it('in the terminal’s folder is whole: one text and its picture', { timeout: TIME }, async () => {
    expect(await tickOnce('files', DUE, 'posted')).toMatchObject(killed);
    expect(await tickOnce('files', LATER)).toEqual(whole);
    const files = () => readdirSync(folder).filter((name) => name.startsWith('week'));
    expect(files().sort()).toEqual(['week-1-2026-W09.md', 'week-1-2026-W09.png']);
    expect(readFileSync(join(folder, 'week-1-2026-W09.md'), 'utf8')).toContain('](week-1-2026-W09.png)');
    expect(post()).toMatchObject({ state: 'sent', message: 'week-1-2026-W09.md' });
  });
});
