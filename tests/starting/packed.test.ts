/** The program laid out as the container has it: by the step of the container file, started as that starts it. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { until } from '../discord/bot.ts';
import { served } from '../discord/served.ts';
import { freePort } from '../free-port.ts';
import { run, says } from '../kills/programs.ts';

const TIME = 600_000;
const WAIT = 60_000;
const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const steps = readFileSync(join(root, 'src/packing/Containerfile'), 'utf8');
const stepOf = (word: string): string[] =>
  [...steps.matchAll(new RegExp(`^${word} (.+)$`, 'gm'))].map(([, rest = '']) => rest);
const words = z.array(z.string());

let folder = '';
let app = '';
let data = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-packed-'));
  app = join(folder, 'app');
  data = join(folder, 'data');
  const [layOut = ''] = stepOf('RUN').filter((step) => step.includes('/app'));
  const { status, stderr } = spawnSync('sh', ['-c', layOut.replace('/app', app)], {
    cwd: root,
    encoding: 'utf8',
  });
  expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
}, TIME);
afterAll(() => rmSync(folder, { recursive: true, force: true }));
/** A command of the container file, with the folders as they are here. */
const here = (list: string): string[] =>
  words.parse(JSON.parse(list)).map((word) => word.replace('/app', app).replace(/^node$/, process.execPath));

describe('what is laid out for a container', () => {
  it('has the program, and nothing for compiling, for other machines or for developers', () => {
    const files = readdirSync(app, { recursive: true, encoding: 'utf8' });
    expect(files).toEqual(expect.arrayContaining(['dist/main.js', 'src/sample.env', 'LICENSE']));
    expect(
      files.filter((file) =>
        /node_modules\/(vitest|typescript|rolldown|@biomejs|node-(addon|linux|win))/.test(file),
      ),
    ).toEqual([]);
    expect(files.filter((file) => /\.(map|d\.ts|gyp|h)$/.test(file))).toEqual([]);
    expect(files.filter((file) => /better-sqlite3\/prebuilds\/.+\.node$/.test(file))).toHaveLength(1);
  });
  it('is started as the container starts it, and says by the container’s check how it is', {
    timeout: TIME,
  }, async () => {
    const [program = ''] = here(stepOf('ENTRYPOINT')[0] ?? '').slice(1);
    expect(existsSync(program)).toBe(true);
    const [, ...check] = here((stepOf('HEALTHCHECK')[0] ?? '').replace(/^.*CMD /, ''));
    const ask = () =>
      spawnSync(process.execPath, check, {
        encoding: 'utf8',
        env: { PATH: process.env.PATH, THIRDHAND_DATA: data },
      });
    expect(here(stepOf('CMD')[0] ?? '')).toEqual(['--serve']);
    expect(ask()).toMatchObject({ status: 1, stdout: `No bot serves on ${data}.\n` });
    const on = await served(data, { installed: app });
    try {
      expect(await says(on.bot, 'Everything is loaded')).toBe(true);
      expect(ask()).toMatchObject({ status: 0, stdout: expect.stringContaining('discord: connected') });
      await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
      await on.ines.use('job', 'open', {
        model: 'Orrin K3',
        ownership: 'shown',
        lock: 'free',
        stolen: 'clear',
      });
      const page = await on.ines.use('job', 'page', { job: '1' });
      await until(
        () =>
          page.message?.attachments.some(({ bytes }) => bytes.subarray(0, 5).toString() === '%PDF-') ?? false,
        'the page',
        WAIT,
      );
      expect(on.bot.err()).toBe('');
    } finally {
      expect(await on.close()).toBe(0);
    }
  });
  it('has what Matrix needs, and draws, checks and copies', { timeout: TIME }, async () => {
    const start = async (...given: string[]) => {
      const one = run({ installed: app, arguments: ['--data', data, ...given] });
      const { code } = await one.ended;
      return { code, out: one.out(), err: one.err() };
    };
    expect(await start('--tour')).toMatchObject({ code: 0, err: '' });
    expect(await start('--check')).toMatchObject({ code: 0, err: '' });
    expect(await start('--backup', join(folder, 'copy.sqlite'))).toMatchObject({ code: 0, err: '' });
    const matrix = run({
      installed: app,
      arguments: ['--serve', '--data', data],
      environment: { MATRIX_HOMESERVER: `http://127.0.0.1:${await freePort()}`, MATRIX_TOKEN: 'syt_none' },
    });
    expect(await says(matrix, 'trying again')).toBe(true);
    expect(await says(matrix, 'Everything is loaded')).toBe(true);
    matrix.child.kill('SIGTERM');
    expect(await matrix.ended).toMatchObject({ code: 0 });
    // Of a package below the SDK, while it is loaded.
    const own = matrix.err().replace(/^\(node:\d+\) \[DEP0060\].*\n\(Use .*\n/m, '');
    expect(own).toBe('');
  });
});
