/** What a library asks for within a function only is loaded at a start, so that its files may go while the bot runs. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { expect, it } from 'vitest';

const lazyParts = fileURLToPath(new URL('../../src/draw/lazy-parts.ts', import.meta.url));

/** What a library answers whose parts were removed after it was loaded; `prepare` is what a start did before. */
function answerWithoutFiles(prepare: string): string {
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-lazy-'));
  const file = (name: string, text: string) => writeFileSync(join(folder, name), text);
  file(
    'index.js',
    "exports.send = () => require('./late.js').form(); try { require('./optional.js') } catch {}",
  );
  file('late.js', "exports.form = () => require('./later.js').name;");
  file('later.js', "exports.name = 'a form';");
  file('package.json', '{"type":"commonjs"}');
  const script = `
    import { rmSync } from 'node:fs';
    import { createRequire } from 'node:module';
    import { loadLazyParts } from ${JSON.stringify(pathToFileURL(lazyParts).href)};
    const library = createRequire(${JSON.stringify(join(folder, 'x.js'))})('./index.js');
    ${prepare}
    rmSync(${JSON.stringify(folder)}, { recursive: true });
    try { process.stdout.write(library.send()); } catch (error) { process.stdout.write(String(error.code)); }`;
  const own = mkdtempSync(join(tmpdir(), 'thirdhand-lazy-script-'));
  try {
    writeFileSync(join(own, 'run.mjs'), script);
    return execFileSync(process.execPath, [join(own, 'run.mjs')], { encoding: 'utf8' });
  } finally {
    rmSync(own, { recursive: true, force: true });
  }
}

it('a library goes on without its files, those included that it asks for late, and those that these ask for', () => {
  expect(answerWithoutFiles('loadLazyParts();')).toBe('a form');
});

it('and would not, were they not loaded at the start', () => {
  expect(answerWithoutFiles('')).toBe('MODULE_NOT_FOUND');
});
