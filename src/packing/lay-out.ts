/**
 * Lays the built program out in a folder with what it needs to run, and nothing else:
 *
 *     node src/launch.cjs src/packing/lay-out.ts FOLDER [--without-node]
 *
 * For containers and for a machine with little room. The folder is made, and must be empty or not there. Nothing is fetched. What
 * is bundled into `dist` is left out, and of each package what is for compiling, for other machines, or for developers.
 */
import { execFileSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';

const root = fileURLToPath(new URL('../..', import.meta.url));
const packageSchema = z.object({
  dependencies: z.record(z.string(), z.string()).default({}),
  optionalDependencies: z.record(z.string(), z.string()).default({}),
  peerDependencies: z.record(z.string(), z.string()).default({}),
});
const readPackage = (folder: string) =>
  packageSchema.parse(JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')));

/** The packages that what is built asks for by name when it runs. */
function askedFor(): string[] {
  const built = readdirSync(join(root, 'dist'))
    .filter((name) => name.endsWith('.js'))
    .map((name) => readFileSync(join(root, 'dist', name), 'utf8'))
    .join('\n');
  const quoted = new Set(
    [...built.matchAll(/(?:\bfrom\s*|\bimport\s*|\()["']((?:@[\w.-]+\/)?[\w.-]+)(?:\/[\w./-]+)?["']/g)].map(
      ([, name = '']) => name,
    ),
  );
  return Object.keys(readPackage(root).dependencies).filter((name) => quoted.has(name));
}

/** Where a package is that another one, in `from`, asks for: as Node looks for it. Null where it is not installed. */
function folderOf(name: string, from: string): string | null {
  for (let place = from; place.startsWith(join(root, 'node_modules')); place = join(place, '..')) {
    const within = join(place, 'node_modules', name);
    if (existsSync(join(within, 'package.json'))) return within;
  }
  const top = join(root, 'node_modules', name);
  return existsSync(join(top, 'package.json')) ? top : null;
}

/** Asked for by packages that could be compiled, and need not be. */
const forCompiling = ['node-addon-api'];

/** The folders of packages, and of all that they need. */
function closureOf(names: readonly string[]): Set<string> {
  const found = new Set<string>();
  const visit = (name: string, from: string): void => {
    const folder = folderOf(name, from);
    if (folder === null || found.has(folder) || forCompiling.includes(name)) return;
    found.add(folder);
    const { dependencies, optionalDependencies, peerDependencies } = readPackage(folder);
    for (const one of Object.keys({ ...dependencies, ...optionalDependencies, ...peerDependencies }))
      visit(one, folder);
  };
  for (const name of names) visit(name, root);
  return found;
}

const isMusl =
  process.platform === 'linux' && !existsSync('/lib64') && !existsSync('/lib/ld-linux-aarch64.so.1');
const ownBinary = `${process.platform}${isMusl ? 'musl' : ''}-${process.arch}.node`;

/** What of a package is not needed to run it, by its path within its package. */
function isSpare(name: string, path: string): boolean {
  if (/\.(map|md|markdown|[cm]?ts|tsx|gyp)$/i.test(path)) return true;
  const [top = ''] = path.split(/[\\/]/);
  if (name === 'better-sqlite3')
    return /^(deps|src)$/.test(top) || (/\.node$/.test(path) && basename(path) !== ownBinary);
  if (name.startsWith('node-')) return /^(include|share)$/.test(top);
  if (name === 'dejavu-fonts-ttf')
    return /\.ttf$/.test(path) && !/^DejaVuSans(-Bold)?\.ttf$/.test(basename(path));
  return false;
}

function copyPackage(folder: string, target: string): void {
  const to = join(target, relative(root, folder));
  const name =
    relative(join(root, 'node_modules'), folder).replaceAll('\\', '/').split('node_modules/').at(-1) ?? '';
  cpSync(folder, to, {
    recursive: true,
    filter: (from) => {
      const path = relative(folder, from);
      // A package within it comes by itself, where it is needed.
      return path === '' || (path !== 'node_modules' && !isSpare(name, path));
    },
  });
}

/** The program's own files, as npm packs them. */
function copyProgram(target: string): void {
  const scratch = mkdtempSync(join(tmpdir(), 'thirdhand-pack-'));
  try {
    execFileSync('npm', ['pack', '--ignore-scripts', '--silent', '--pack-destination', scratch], {
      cwd: root,
      stdio: ['ignore', 'ignore', 'inherit'],
      shell: process.platform === 'win32',
    });
    const [packed = ''] = readdirSync(scratch);
    execFileSync('tar', ['-xzf', join(scratch, packed), '-C', target, '--strip-components=1']);
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
}

/** Throws where the folder is not empty, or nothing is built. */
function layOut(target: string, { withNode }: { withNode: boolean }): void {
  if (existsSync(target) && readdirSync(target).length) throw new Error(`${target} is not empty`);
  if (!existsSync(join(root, 'dist', 'main.js'))) throw new Error('nothing is built: npm ci builds it');
  mkdirSync(target, { recursive: true });
  copyProgram(target);
  const nodes = withNode ? Object.keys(readPackage(root).optionalDependencies) : [];
  for (const folder of closureOf([...askedFor(), ...nodes])) copyPackage(folder, target);
}

const [target, ...options] = process.argv.slice(2);
if (target === undefined || options.some((one) => one !== '--without-node')) {
  process.stderr.write('lay-out: expected FOLDER [--without-node]\n');
  process.exitCode = 1;
} else {
  layOut(target, { withNode: !options.includes('--without-node') });
}
