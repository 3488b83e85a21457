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
        license: z.string().optional(),
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
  it('is told of each direct package in the guide: licence, and whether it runs a script', () => {
    const rows = new Map(
      [
        ...readFileSync(join(root, 'src/packing/dependencies.md'), 'utf8').matchAll(
          /^\| (\S+) \| \d{4}-\d\d-\d\d \| ([^|]+) \| ([^|]+) \| \d+ \| [^|]+ \|$/gm,
        ),
      ].map(([, name = '', licence = '', script = '']) => [name, { licence, script }]),
    );
    const { dependencies, optionalDependencies } = z
      .object({
        dependencies: z.record(z.string(), z.string()),
        optionalDependencies: z.record(z.string(), z.string()),
      })
      .parse(read('package.json'));
    expect([...rows.keys()].toSorted()).toEqual(
      Object.keys({ ...dependencies, ...optionalDependencies }).toSorted(),
    );
    for (const [name, { licence, script }] of rows) {
      const { license = '', hasInstallScript = false } = packages[`node_modules/${name}`] ?? {};
      // One names a file in place of a licence.
      if (!license.startsWith('SEE ')) expect({ name, licence }).toEqual({ name, licence: license });
      expect({ name, none: script === 'none' }).toEqual({ name, none: !hasInstallScript });
    }
  });
  it('brings no package that its makers have given up, where another can stand in its place', () => {
    expect(installed.map(([folder]) => folder)).not.toEqual(
      expect.arrayContaining([expect.stringMatching(/(har-validator|tough-cookie|request-promise-core)$/)]),
    );
  });
});
