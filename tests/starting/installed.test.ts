/** The package as npm makes it, laid out somewhere else, where nothing can be written. */
import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const TIME = 60_000;
let folder = '';
let installation = '';
let program = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
  // What is built is of these sources already: tests/built.ts.
  execFileSync('npm', ['pack', '--ignore-scripts', '--pack-destination', folder], {
    cwd: root,
    stdio: 'pipe',
  });
  const [packed = ''] = readdirSync(folder);
  execFileSync('tar', ['-xzf', join(folder, packed), '-C', folder]);
  installation = join(folder, 'package');
  symlinkSync(join(root, 'node_modules'), join(installation, 'node_modules'));
  const { bin } = z
    .object({ bin: z.object({ thirdhand: z.string() }) })
    .parse(JSON.parse(readFileSync(join(installation, 'package.json'), 'utf8')));
  program = join(installation, bin.thirdhand);
  chmodSync(folder, 0o777);
  mayWrite(false);
}, TIME);
afterAll(() => {
  mayWrite(true);
  rmSync(folder, { recursive: true });
});

/** Root may write anywhere: then the program is run as somebody else. */
const somebody = process.getuid?.() === 0 ? { uid: 65_534, gid: 65_534 } : {};
/** False where the project lies in a folder of root's alone. */
const mayRead =
  spawnSync(process.execPath, ['-e', `require(${JSON.stringify(join(root, 'package.json'))})`], somebody)
    .status === 0;

function mayWrite(may: boolean): void {
  execFileSync('chmod', ['-R', may ? 'a+w' : 'a-w', installation]);
}

/** Says at the end whether the YAML library was loaded, which takes longer than all the rest of a start. */
const watching = `data:text/javascript,${encodeURIComponent(
  `import { createRequire } from 'node:module';
   process.on('exit', () => { if (Object.keys(createRequire('/').cache).some((name) => /node_modules.yaml./.test(name))) console.log('YAML was parsed'); });`,
)}`;

function run(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, ['--import', watching, program, ...args], {
    cwd: folder,
    encoding: 'utf8',
    env: { PATH: process.env.PATH, HOME: folder, USER: 'wren' },
    ...somebody,
  });
  return { status, stdout, stderr };
}

/** Every file with its size and time. */
const listing = () =>
  readdirSync(installation, { recursive: true, encoding: 'utf8' })
    .filter((name) => !name.startsWith('node_modules'))
    .map((name) => {
      const { size, mtimeMs } = statSync(join(installation, name));
      return `${name} ${size} ${mtimeMs}`;
    })
    .sort();

describe.skipIf(!mayRead)('an installation', () => {
  it('runs by its name where nothing can be written in it, and parses no pack', { timeout: TIME }, () => {
    const before = listing();
    const { status, stdout, stderr } = run('--data', join(folder, 'data'), '--demo', '--run', '/family list');
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(stdout).toContain('Orrin K3');
    expect(stdout).not.toContain('YAML was parsed');
    const tour = run('--tour');
    expect(tour).toMatchObject({ status: 0, stderr: '' });
    expect(tour.stdout).toContain('That is the tour.');
    expect(tour.stdout).not.toContain('YAML was parsed');
    expect(listing()).toEqual(before);
  });
  it('writes nothing in its folder where it could', { timeout: TIME }, () => {
    mayWrite(true);
    const before = listing();
    expect(run('--tour')).toMatchObject({ status: 0, stderr: '' });
    expect(listing()).toEqual(before);
  });
  it('parses a pack that was not parsed before, and keeps that only where it can', { timeout: TIME }, () => {
    const parsed = join(installation, 'dist', 'pack');
    mayWrite(true);
    rmSync(parsed, { recursive: true });
    mayWrite(false);
    expect(run('--tour')).toMatchObject({
      status: 0,
      stderr: '',
      stdout: expect.stringContaining('YAML was parsed'),
    });
    expect(existsSync(parsed)).toBe(false);
    mayWrite(true);
    expect(run('--tour').stdout).toContain('YAML was parsed');
    expect(run('--tour').stdout).not.toContain('YAML was parsed');
  });
});
