/** An installation as it is run: by its name, by somebody who may not write in it. */
import { existsSync, globSync, readdirSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { canInstall, type Installation, install } from './installation.ts';

const TIME = 600_000;
/** Says at the end whether the YAML library was loaded, which takes longer than all the rest of a start. */
const watching = `data:text/javascript,${encodeURIComponent(
  `import { createRequire } from 'node:module';
   const yaml = () => Object.keys(createRequire('/').cache).some((name) => /node_modules.yaml./.test(name));
   process.on('exit', () => { if (yaml()) console.log('YAML was parsed'); });`,
)}`;

describe.skipIf(!canInstall)('an installation', () => {
  let installation: Installation;
  beforeAll(() => {
    installation = install();
  }, TIME);
  afterAll(() => installation.remove());

  const run = (...args: string[]) => {
    const { status, stdout, stderr } = installation.run(args, ['--import', watching]);
    return { status, stdout, stderr };
  };
  /** Every file with its size and time. */
  const listing = () =>
    readdirSync(installation.folder, { recursive: true, encoding: 'utf8' })
      .filter((name) => !name.startsWith('node_modules'))
      .map((name) => {
        const { size, mtimeMs } = statSync(join(installation.folder, name));
        return `${name} ${size} ${mtimeMs}`;
      })
      .sort();

  it('runs by its name where nothing can be written in it, and parses no pack', { timeout: TIME }, () => {
    installation.mayWrite(false);
    const before = listing();
    const data = join(installation.around, 'data');
    const { status, stdout, stderr } = run('--data', data, '--demo', '--run', '/family list');
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(stdout).toContain('Orrin K3');
    expect(stdout).not.toContain('YAML was parsed');
    const tour = run('--tour');
    expect(tour).toMatchObject({ status: 0, stderr: '' });
    expect(tour.stdout).toContain('That is the tour.');
    expect(tour.stdout).not.toContain('YAML was parsed');
    expect(listing()).toEqual(before);
  });
  it('has the licence and every guide to it', () => {
    const there = readdirSync(installation.folder, { recursive: true, encoding: 'utf8' });
    const guides = globSync([
      '*.md',
      '{src,commands,shared,knowledge,tests}/**/*.md',
      'src/sample.env',
      'LICENSE',
    ]).filter((name) => !name.startsWith('tests/') || name === 'tests/README.md');
    expect(guides).toEqual(expect.arrayContaining(['LICENSE', 'src/surfaces/matrix/README.md']));
    expect(guides.filter((name) => !there.includes(name))).toEqual([]);
  });
  it('writes nothing in its folder where it could', { timeout: TIME }, () => {
    installation.mayWrite(true);
    const before = listing();
    expect(run('--tour')).toMatchObject({ status: 0, stderr: '' });
    expect(listing()).toEqual(before);
  });
  it('parses a pack that was not parsed before, and keeps that only where it can', { timeout: TIME }, () => {
    const parsed = join(installation.folder, 'dist', 'pack');
    installation.mayWrite(true);
    rmSync(parsed, { recursive: true });
    installation.mayWrite(false);
    const tour = run('--tour');
    expect(tour).toMatchObject({ status: 0, stderr: '' });
    expect(tour.stdout).toContain('YAML was parsed');
    expect(existsSync(parsed)).toBe(false);
    installation.mayWrite(true);
    expect(run('--tour').stdout).toContain('YAML was parsed');
    expect(run('--tour').stdout).not.toContain('YAML was parsed');
  });
});
