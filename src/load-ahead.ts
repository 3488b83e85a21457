/**
 * Loads at a start what a bot would load later, so that it goes on until it is stopped when its files are replaced or removed
 * meanwhile, as by an update.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { papa } from '../shared/csv/csv.ts';
import { catalogue } from '../shared/language/catalogue.ts';
import { languages } from '../shared/language/locale.ts';
import { luxon } from '../shared/time/zone.ts';
import { loadDrawing } from './draw/draw-file.ts';

const REQUIRED = /\brequire\(\s*(['"])(\.{1,2}\/[^'"]*)\1\s*\)/g;

/**
 * Loads what the libraries that are loaded ask for within a function only, of their own files: undici does so before it sends
 * a file. One that cannot be loaded would be none later.
 */
function loadLazyParts(): void {
  const { cache } = createRequire(import.meta.url);
  const seen = new Set<string>();
  const unseen = (): string[] => Object.keys(cache).filter((file) => file.endsWith('js') && !seen.has(file));
  for (let files = unseen(); files.length; files = unseen()) {
    for (const file of files) {
      seen.add(file);
      const require = createRequire(file);
      for (const [, , name = ''] of readFileSync(file, 'utf8').matchAll(REQUIRED)) {
        try {
          require(name);
        } catch {
          // An optional part.
        }
      }
    }
  }
}

/**
 * `platforms` load before the drawing: vega-lite gives every Set a toJSON, over which a library of discord.js falls while it is
 * loaded.
 */
export async function loadAhead(platforms: readonly (() => Promise<unknown>)[]): Promise<void> {
  await Promise.all(platforms.map((load) => load()));
  papa();
  luxon();
  for (const language of languages) catalogue(language);
  await loadDrawing();
  loadLazyParts();
}
