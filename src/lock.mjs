/**
 * Keeps installing free of compiling. A package with a `binding.gyp` is compiled when it is installed, unless it says
 * `gypfile: false`; npm forgets that when it writes package-lock.json, and goes by the lock alone. npm runs this after
 * each change of node_modules: what the packages say is written into the lock.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('..', import.meta.url));
const lockFile = join(root, 'package-lock.json');
const lock = JSON.parse(readFileSync(lockFile, 'utf8'));
let changed = false;
for (const [folder, entry] of Object.entries(lock.packages)) {
  if (folder === '' || entry.gypfile === false || !existsSync(join(root, folder, 'binding.gyp'))) continue;
  if (JSON.parse(readFileSync(join(root, folder, 'package.json'), 'utf8')).gypfile !== false) continue;
  entry.gypfile = false;
  changed = true;
}
if (changed) writeFileSync(lockFile, `${JSON.stringify(lock, null, 2)}\n`);
