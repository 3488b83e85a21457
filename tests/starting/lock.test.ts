/** What package-lock.json makes npm do when it installs: fetch from the registry, and run and compile nothing. */
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const read = (name: string): unknown => JSON.parse(readFileSync(join(root, name), 'utf8'));
const { packages } = z
  .object({
    packages: z.record(
      z.string(),
      z.object({
        version: z.string().optional(),
        resolved: z.string().optional(),
        integrity: z.string().optional(),
        gypfile: z.boolean().optional(),
        hasInstallScript: z.boolean().optional(),
      }),
    ),
  })
  .parse(read('package-lock.json'));
const installed = Object.entries(packages).filter(([folder]) => folder !== '');
const { allowScripts } = z
  .object({ allowScripts: z.record(z.string(), z.boolean()).default({}) })
  .parse(read('package.json'));

describe('installing', () => {
  it('compiles nothing: after a change of the lock, npm run dependencies', () => {
    const native = installed.filter(([folder]) => existsSync(join(root, folder, 'binding.gyp')));
    expect(native.map(([folder]) => folder)).toContain('node_modules/better-sqlite3');
    expect(native.filter(([, { gypfile }]) => gypfile !== false)).toEqual([]);
  });
  it('runs no script of a package that package.json does not name', () => {
    const named = installed.filter(([, { hasInstallScript }]) => hasInstallScript).map(([folder]) => folder);
    expect(named.filter((folder) => !(folder.replace(/^.*node_modules\//, '') in allowScripts))).toEqual([]);
  });
  it('takes every package from the registry, held to its content', () => {
    expect(installed.filter(([, { integrity }]) => integrity === undefined)).toEqual([]);
    expect(
      installed.filter(([, { resolved }]) => resolved !== undefined && !/^https:/.test(resolved)),
    ).toEqual([]);
  });
});
