/**
 * `npm run build`, and `npm ci` by itself: puts the program into `dist`, with the knowledge pack parsed beside it, so that a
 * start compiles and writes nothing. Without the development packages nothing is built, and the program starts from its
 * sources.
 */
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import type * as Rolldown from 'rolldown';

const root = fileURLToPath(new URL('..', import.meta.url));
const dist = join(root, 'dist');
const stampFile = join(dist, 'sources.sha256');

/** Changes with every source file, and with the installed packages. */
function stampOfSources(): string {
  const hash = createHash('sha256').update(readFileSync(join(root, 'package-lock.json')));
  for (const folder of ['src', 'commands', 'shared', 'knowledge'])
    for (const name of readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' }).sort())
      if (/\.(ts|mjs|cjs)$/.test(name)) hash.update(name).update(readFileSync(join(root, folder, name)));
  return hash.digest('hex');
}

/** Each source file keeps its own address, seen from `dist`: what lies beside it is found from there. */
const keepAddresses: Rolldown.Plugin = {
  name: 'keep-addresses',
  transform: {
    filter: { id: /\.ts$/ },
    handler(code, id) {
      const address = JSON.stringify(relative(dist, id).replaceAll('\\', '/'));
      return code.replaceAll('import.meta.url', `new URL(${address}, import.meta.url).href`);
    },
  },
};

async function bundle(rolldown: typeof Rolldown): Promise<void> {
  const making = `${dist}.${process.pid}`;
  try {
    await rolldown.build({
      cwd: root,
      input: {
        main: 'src/main.ts',
        knowledge: 'knowledge/load.ts',
        'draw-worker': 'src/draw/draw-worker.ts',
      },
      platform: 'node',
      transform: { target: 'node22' },
      // Native, large and seldom needed, or reading files of their own: these stay where they are installed.
      external: [
        'better-sqlite3',
        '@matrix-org/matrix-sdk-crypto-wasm',
        '@resvg/resvg-js',
        'discord.js',
        'vega',
        'vega-lite',
        'pdfkit',
      ],
      plugins: [keepAddresses],
      output: { dir: making, format: 'esm', chunkFileNames: '[name]-[hash].js' },
      logLevel: 'warn',
    });
    rmSync(dist, { recursive: true, force: true });
    renameSync(making, dist);
  } finally {
    rmSync(making, { recursive: true, force: true });
  }
}

/** The bundler, or null where development packages are left out. */
async function bundler(): Promise<typeof Rolldown | null> {
  try {
    return await import('rolldown');
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ERR_MODULE_NOT_FOUND') return null;
    throw error;
  }
}

/** Parses the pack beside the program. What is wrong with it is said, and said again at each start, until it is mended. */
async function parsePack(): Promise<void> {
  try {
    const built: typeof import('../knowledge/load.ts') = await import(
      pathToFileURL(join(dist, 'knowledge.js')).href
    );
    built.loadKnowledge();
  } catch (error) {
    process.stderr.write(`${error instanceof Error ? error.message : error}\n`);
  }
}

/**
 * Builds; with `ifStale` only where `dist` is not of these very sources already. Throws what is wrong with a source. False
 * where nothing could be built: then there is no `dist` of other sources either.
 */
export async function build({ ifStale = false } = {}): Promise<boolean> {
  const stamp = stampOfSources();
  const fresh = existsSync(stampFile) && readFileSync(stampFile, 'utf8') === stamp;
  if (fresh && ifStale) return true;
  const rolldown = await bundler();
  if (rolldown === null) {
    if (fresh) return true;
    rmSync(dist, { recursive: true, force: true });
    return false;
  }
  await bundle(rolldown);
  await parsePack();
  writeFileSync(stampFile, stamp);
  return true;
}

if (process.argv[1] === fileURLToPath(import.meta.url) && !(await build()))
  process.stdout.write(
    'thirdhand: not built, since development packages are left out: it starts from its sources, which is slower. For a built one: npm ci && npm prune --omit=dev\n',
  );
