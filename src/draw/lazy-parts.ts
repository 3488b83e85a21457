/** The parts of libraries that are loaded late. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const REQUIRED = /\brequire\(\s*(['"])(\.{1,2}\/[^'"]*)\1\s*\)/g;

/**
 * Loads what the libraries that are loaded ask for within a function only, of their own files: undici does so before it sends
 * a file. One that cannot be loaded would be none later.
 */
export function loadLazyParts(): void {
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
