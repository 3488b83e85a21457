import { readdirSync, readFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { expect, test } from 'vitest';
import { sourcesOf } from './check.ts';
import { asPage, counts, pageFile, readAll } from './list.ts';
import { ownSources } from './sources.ts';

const folder = dirname(pageFile);
const files = readdirSync(folder).filter((name) => name.endsWith('.test.ts') && name !== 'list.test.ts');

test('the page lists every check: run `npm run outside` after a change', async () => {
  expect(readFileSync(pageFile, 'utf8')).toBe(asPage(await readAll()));
}, 60_000);

test('at least 150 values of at least 25 sources', async () => {
  const { values, sources } = counts(await readAll());
  expect(values).toBeGreaterThanOrEqual(150);
  expect(sources).toBeGreaterThanOrEqual(25);
}, 60_000);

test('every check has an id of its own, and every file and own source is used', async () => {
  const all = await readAll();
  const checks = all.flatMap((group) => group.checks);
  const ids = checks.map(({ id }) => id);
  expect(ids.filter((id, at) => ids.indexOf(id) !== at)).toEqual([]);
  expect(all).toHaveLength(files.length);
  for (const { checks: own, heading } of all) expect(own.length, heading).toBeGreaterThan(0);
  const used = new Set(checks.flatMap(sourcesOf));
  expect(ownSources().filter((id) => !used.has(id))).toEqual([]);
}, 60_000);

test('no test of this folder goes round the list', () => {
  for (const file of files)
    expect(readFileSync(`${folder}/${file}`, 'utf8'), file).not.toMatch(/^\s*(test|it|describe)(\.\w+)?\(/m);
});
