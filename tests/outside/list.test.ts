import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { expect, test } from 'vitest';
import { commands } from '../../commands/index.ts';
import { testBot } from '../test-bot.ts';
import { broughtBack } from './brought-back.ts';
import { sourcesOf } from './check.ts';
import { asPage, byPart, counts, pageFile, readAll } from './list.ts';
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

test('every check stands under what runs it, once, and that is there', async () => {
  const all = await readAll();
  const placed = byPart(all).flatMap(({ groups }) => groups.flatMap(({ checks }) => checks));
  const ids = (checks: readonly { id: string }[]) => checks.map(({ id }) => id).sort();
  expect(ids(placed)).toEqual(ids(all.flatMap(({ checks }) => checks)));
  for (const { part, groups } of byPart(all)) expect(groups.length, part).toBeGreaterThan(0);
  const known = new Set(commands.map(({ name }) => `/${name}`));
  for (const { id, where } of placed) {
    const [first = ''] = where.split(/[ ,]/);
    if (first.startsWith('/')) expect(known, id).toContain(first);
    else expect(existsSync(join(folder, '..', '..', first)), `${id}: ${first}`).toBe(true);
  }
}, 60_000);

test('no test of this folder goes round the list', () => {
  for (const file of files)
    expect(readFileSync(`${folder}/${file}`, 'utf8'), file).not.toMatch(/^\s*(test|it|describe)(\.\w+)?\(/m);
});

test('/caution, /paired, /worth, /week and /family name the sources that the checks name', async () => {
  const one = testBot();
  const { knowledge } = one.context();
  const named = new Set<string>();
  let asked = 0;
  const say = (line: string, now = one.now) => {
    asked += 1;
    const reply = one.say(line, { as: `member ${asked}`, role: 'steward', now });
    expect(reply.outcome, line).toBe('answered');
    for (const { id } of reply.sources) named.add(id);
  };
  say('/family name model:"Tarn 8" as:clipped-plastic-side-sensor launched:2023-09 new-price:299');
  say('/worth "Tarn 8" price:20 symptoms:dead');
  const now = new Date('2026-02-24T01:00:00Z');
  broughtBack(one, { model: 'Tarn 8', came: 'came:given', log: ['minutes:30'], sold: 90, now });
  say('/week preview 2026-W09');
  for (const family of knowledge.families.values()) {
    say(`/family show ${family.id}`);
    for (const component of Object.keys(family.components))
      say(`/paired ${family.id} component:${component} lessons:all`);
  }
  const regions = new Set(knowledge.laws.flatMap(({ region }) => region));
  for (const region of regions) {
    one.store.saveSettings({ ...one.collective.settings, region: region === 'EU' ? 'DE' : region });
    // Today, and on the last day of a law that has ended.
    for (const day of [one.now, new Date('2025-06-26T02:00:00Z')])
      say('/paired glued-front-home-sensor', day);
    for (const id of knowledge.cautions.keys()) say(`/caution ${id}`);
  }
  const used = new Set((await readAll()).flatMap(({ checks }) => checks.flatMap(sourcesOf)));
  // A number to call is said without its source: the pack has it, and in danger nobody reads one.
  const numbers = new Set(
    Object.values(knowledge.regions.emergency)
      .flatMap((services) => Object.values(services))
      .map(({ ground }) => (typeof ground === 'string' ? ground : ground.source)),
  );
  const silent = [...used].filter((id) => knowledge.sources.has(id) && !named.has(id) && !numbers.has(id));
  expect(silent).toEqual([]);
}, 120_000);
