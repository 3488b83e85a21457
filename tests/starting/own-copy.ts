/** An installation with packages of its own, none of them for development, which can be taken away from under a running bot. */
import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, realpathSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const lockSchema = z.object({
  packages: z.record(z.string(), z.object({ dev: z.boolean().default(false) })),
});

/** The folders of the packages that the program runs with, from the project's. */
const runtimePackages = (): string[] =>
  Object.entries(lockSchema.parse(JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8'))).packages)
    .filter(([folder, { dev }]) => folder.startsWith('node_modules/') && !dev)
    .map(([folder]) => folder);

export interface OwnCopy {
  folder: string;
  /** Takes every file away. */
  remove(): void;
}

/** Linked file by file where that can be done, so that it takes no room; what is built must be of the sources as they are. */
export function ownCopy(): OwnCopy {
  const folder = realpathSync(mkdtempSync(join(tmpdir(), 'thirdhand-own-')));
  const copy = (name: string): void => {
    const to = join(folder, name);
    mkdirSync(dirname(to), { recursive: true });
    if (spawnSync('cp', ['-al', join(root, name), to]).status === 0) return;
    cpSync(join(root, name), to, { recursive: true });
  };
  for (const name of ['package.json', 'src', 'knowledge', 'shared', 'dist']) copy(name);
  // A package within another comes with it; the Node that runs the tests runs this too.
  for (const name of runtimePackages())
    if (existsSync(join(root, name)) && !/node_modules\/.*node_modules\/|\/node-(linux|win)-/.test(name))
      copy(name);
  return { folder, remove: () => rmSync(folder, { recursive: true, force: true }) };
}
