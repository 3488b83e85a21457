/** The package as npm makes it, laid out somewhere else, where it can be made so that nothing can be written in it. */
import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  realpathSync,
  rmSync,
  symlinkSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');

/** Root may write anywhere: then the program is run as somebody else. */
const nobody = { uid: 65_534, gid: 65_534 };
const isRoot = process.getuid?.() === 0;
const somebody = isRoot ? nobody : {};

/** False where the project lies in a folder of root's alone, and nobody else could run it. */
export const canInstall =
  spawnSync(process.execPath, ['-e', `require(${JSON.stringify(join(root, 'package.json'))})`], somebody)
    .status === 0;

export interface Installation {
  /** Where the package is. */
  folder: string;
  /** Where everyone may write; the package is in it. */
  around: string;
  mayWrite(may: boolean): void;
  /** Makes a file that of whoever runs the program, for their eyes alone. */
  giveTo(file: string): void;
  /** Runs the program that the package is started by, to its end. */
  run(
    args: readonly string[],
    nodeArgs?: readonly string[],
  ): { status: number | null; stdout: string; stderr: string };
  remove(): void;
}

/** What is built must be of the sources as they are. */
export function install(): Installation {
  const around = realpathSync(mkdtempSync(join(tmpdir(), 'thirdhand-')));
  execFileSync('npm', ['pack', '--ignore-scripts', '--pack-destination', around], {
    cwd: root,
    stdio: 'pipe',
  });
  const [packed = ''] = readdirSync(around);
  execFileSync('tar', ['-xzf', join(around, packed), '-C', around]);
  const folder = join(around, 'package');
  symlinkSync(join(root, 'node_modules'), join(folder, 'node_modules'));
  const { bin } = z
    .object({ bin: z.object({ thirdhand: z.string() }) })
    .parse(JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')));
  chmodSync(around, 0o777);
  const mayWrite = (may: boolean) => {
    execFileSync('chmod', ['-R', may ? 'a+w' : 'a-w', folder]);
  };
  return {
    folder,
    around,
    mayWrite,
    giveTo: (file) => {
      chmodSync(file, 0o600);
      if (isRoot) chownSync(file, nobody.uid, nobody.gid);
    },
    run: (args, nodeArgs = []) =>
      spawnSync(process.execPath, [...nodeArgs, join(folder, bin.thirdhand), ...args], {
        cwd: around,
        encoding: 'utf8',
        env: { PATH: process.env.PATH, HOME: around, USER: 'wren' },
        ...somebody,
      }),
    remove: () => {
      mayWrite(true);
      rmSync(around, { recursive: true });
    },
  };
}
