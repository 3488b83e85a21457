/** The weekly post in the program as people start it: bundled, with the libraries that draw beside it. */
import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openDatabase } from '../../shared/store/index.ts';
import { finishJob } from '../clock/finished.ts';
import { readPdf } from '../draw/read-pdf.ts';
import { testKey, testSealer } from '../sealer.ts';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const TIME = 600_000;
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
  const database = openDatabase(join(folder, 'thirdhand.sqlite'), testSealer);
  const collective = database.collectives.create('Tin Shed', { zone: 'Australia/Sydney' });
  finishJob(database.of(collective), { endedAt: '2026-02-25T01:00:00Z' });
  database.close();
});
afterAll(() => rmSync(folder, { recursive: true }));

function start(now: string, ...args: string[]): Promise<{ code: number | null; out: string; err: string }> {
  const shared = ['--data', folder, '--collective', 'Tin Shed', '--now', now, '--save', join(folder, 'out')];
  const child = spawn(process.execPath, ['src/thirdhand.cjs', ...shared, ...args], {
    cwd: root,
    env: {
      PATH: process.env.PATH,
      HOME: folder,
      USER: 'wren',
      THIRDHAND_KEY: testKey.bytes.toString('base64'),
    },
  });
  const ended = { out: '', err: '' };
  child.stdout.on('data', (chunk: Buffer) => {
    ended.out += chunk.toString();
  });
  child.stderr.on('data', (chunk: Buffer) => {
    ended.err += chunk.toString();
  });
  child.stdin.end();
  return new Promise((resolve) => {
    child.on('close', (code) => resolve({ code, ...ended }));
  });
}
const files = () => readdirSync(join(folder, 'out')).sort();
const isPng = (name: string) =>
  readFileSync(join(folder, 'out', name))
    .subarray(1, 4)
    .toString() === 'PNG';

describe('the program', () => {
  it('draws the picture of a preview and the hand-over page of a job', { timeout: TIME }, async () => {
    const { code, out, err } = await start(
      '2026-03-02T08:00',
      '--run',
      '/week preview',
      '--run',
      '/job page job:1',
    );
    expect({ code, err }).toEqual({ code: 0, err: '' });
    expect(out).toContain('Week 2026-W09: 1 phone back in use');
    expect(out).toContain(`Saved: ${join(folder, 'out', 'week-2026-W09.png')}`);
    expect(files()).toEqual(['job-1-hand-over.md', 'job-1-hand-over.pdf', 'week-2026-W09.png']);
    expect(isPng('week-2026-W09.png')).toBe(true);
    const page = readPdf(readFileSync(join(folder, 'out', 'job-1-hand-over.pdf')));
    expect(page.pages).toBe(1);
    expect(page.text).toContain('Parts fitted');
  });
  it('posts a due week once with --tick, and says when nothing is due', { timeout: TIME }, async () => {
    const early = await start('2026-03-02T08:59', '--tick');
    expect(early).toEqual({ code: 0, err: '', out: 'Nothing is due.\n' });
    const due = await start('2026-03-02T09:00', '--tick');
    expect(due.out).toBe(`The week is posted: ${join(folder, 'out', 'week-1-2026-W09.md')}\n`);
    const again = await start('2026-03-02T09:01', '--tick');
    expect(again.out).toBe('Nothing is due.\n');
    expect(files().filter((name) => name.startsWith('week-1'))).toEqual([
      'week-1-2026-W09.md',
      'week-1-2026-W09.png',
    ]);
  });
});
