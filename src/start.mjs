/**
 * What `npm start` runs. Compiling every file at every start would take most of a second, so the program is bundled once
 * for each state of its sources, kept under node_modules/.cache, and started from there.
 */
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const cache = join(root, 'node_modules', '.cache', 'thirdhand');

/** Changes whenever a source file or the set of installed packages does. */
function stateOfSources() {
  const hash = createHash('sha256');
  for (const folder of ['src', 'commands', 'shared', 'knowledge']) {
    for (const name of readdirSync(join(root, folder), { recursive: true }).sort()) {
      if (!/\.(ts|mjs)$/.test(name)) continue;
      const { mtimeMs, size } = statSync(join(root, folder, name));
      hash.update(`${folder}/${name} ${mtimeMs} ${size}\n`);
    }
  }
  return hash
    .update(`${process.version} ${statSync(join(root, 'package-lock.json')).mtimeMs}`)
    .digest('hex')
    .slice(0, 16);
}

/** Each source file keeps its own address: the pack and the caches are found from it. */
const keepAddresses = {
  name: 'keep-addresses',
  setup(build) {
    build.onLoad({ filter: /\.ts$/ }, ({ path }) => ({
      loader: 'ts',
      contents: readFileSync(path, 'utf8').replaceAll(
        'import.meta.url',
        JSON.stringify(pathToFileURL(path).href),
      ),
    }));
  },
};

const WEEK = 7 * 24 * 3600 * 1000;

/** Bundles of earlier sources go once no bot can still be running from them. */
function dropOld() {
  for (const name of readdirSync(cache)) {
    const path = join(cache, name);
    if (name.startsWith('program-') && Date.now() - statSync(path).mtimeMs > WEEK)
      rmSync(path, { recursive: true, force: true });
  }
}

async function bundle(folder) {
  const { build } = await import('esbuild');
  const making = `${folder}.${process.pid}`;
  await build({
    absWorkingDir: root,
    entryPoints: ['src/main.ts'],
    outdir: making,
    outExtension: { '.js': '.mjs' },
    bundle: true,
    splitting: true,
    platform: 'node',
    format: 'esm',
    target: 'node20',
    // Native, large and seldom needed, or reading files of their own: these stay where they are installed.
    external: ['better-sqlite3', '@resvg/resvg-js', 'discord.js', 'vega', 'vega-lite', 'pdfkit'],
    plugins: [keepAddresses],
    logLevel: 'warning',
    banner: {
      js: "import { createRequire as __makeRequire } from 'node:module'; const require = __makeRequire(import.meta.url);",
    },
  });
  renameSync(making, folder);
}

const folder = join(cache, `program-${stateOfSources()}`);
const program = join(folder, 'main.mjs');
try {
  if (!existsSync(program)) {
    mkdirSync(cache, { recursive: true });
    await bundle(folder);
    dropOld();
  }
} catch (error) {
  // A folder that cannot be written, or two first starts at once: start from the sources instead.
  if (!existsSync(program)) {
    process.stderr.write(`thirdhand: starting without the cache (${error.message.split('\n')[0]})\n`);
    const { register } = await import('tsx/esm/api');
    register();
    await import('./main.ts');
  }
}
if (existsSync(program)) await import(pathToFileURL(program).href);
