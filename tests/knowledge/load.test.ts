import { mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { BadPack, loadKnowledge } from '../../knowledge/load.ts';
import { brokenPack, packIn, smallPack } from './small-pack.ts';

/** "file:line problem" of each problem that a pack is refused for, files without their folder. */
const refusals = (...folders: string[]): string[] => {
  try {
    loadKnowledge(folders, null);
  } catch (error) {
    if (!(error instanceof BadPack)) throw error;
    for (const { file, line, problem } of error.problems)
      expect(error.message).toContain(`${file}:${line} ${problem}`);
    return error.problems.map(({ file, line, problem }) => `${file.split('/').at(-1)}:${line} ${problem}`);
  }
  return [];
};

describe('loading a pack', () => {
  it('reads a pack that is right, indexed by id', () => {
    const knowledge = loadKnowledge([packIn(smallPack)], null);
    expect([...knowledge.faults.keys()]).toEqual(['dead-cell', 'dead-board']);
    expect(knowledge.symptoms.get('dead')?.isolate).toBe(false);
    expect(knowledge.laws[0]?.from).toBe('2025-06-20');
    expect(knowledge.version).toMatch(/^[0-9a-f]{12}$/);
  });

  it('lays a later folder over the first by id', () => {
    const over = packIn({
      faults:
        '- {id: dead-cell, name: Worn cell, component: battery, weight: 9, why: It is old., ground: practice}',
      lessons: '- {id: another, about: [mainboard], says: Keep it dry., ground: practice}',
      regions: "emergency: {NZ: {number: '111', ground: memory}}\neu: [FR]",
      checks: '',
    });
    const base = packIn(smallPack);
    const plain = loadKnowledge([base], null);
    const laid = loadKnowledge([base, over], null);
    expect([...laid.faults.values()].map(({ name }) => name)).toEqual(['Worn cell', 'Dead board']);
    expect(laid.lessons.map(({ id }) => id)).toEqual(['a-lesson', 'another']);
    expect(laid.regions.emergency).toMatchObject({ EU: { number: '112' }, NZ: { number: '111' } });
    expect(laid.regions.eu).toEqual(['DE', 'FR']);
    expect(laid.checks.size).toBe(1);
    expect(laid.version).not.toBe(plain.version);
  });

  it('does not refuse a folder above that leaves a source of the first without use', () => {
    const over = packIn({
      pairing:
        '- {id: display-notice, component: display-assembly, when: [], effect: free, loses: Nothing., travels: false, mends: Nothing., likely: 0.6, strength: 8, ground: practice}',
    });
    expect(refusals(packIn(smallPack), over)).toEqual([]);
  });

  it('gives the same from its cache, and reads again when a file changed', () => {
    const folder = packIn(smallPack);
    const cache = mkdtempSync(join(tmpdir(), 'cache-'));
    const fresh = loadKnowledge([folder], cache);
    expect(readdirSync(cache).sort()).toEqual([expect.stringMatching(/^pack-.*\.json$/), 'passed']);
    expect(loadKnowledge([folder], cache)).toEqual(fresh);
    const file = join(folder, 'faults.yaml');
    writeFileSync(file, readFileSync(file, 'utf8').replace('Dead cell', 'Flat cell'));
    expect(loadKnowledge([folder], cache).faults.get('dead-cell')?.name).toBe('Flat cell');
  });

  it('reads the files when the cache is damaged, and checks what a cache says', () => {
    const folder = packIn(smallPack);
    const cache = mkdtempSync(join(tmpdir(), 'cache-'));
    loadKnowledge([folder], cache);
    const name = readdirSync(cache).find((file) => file.endsWith('.json')) ?? '';
    const kept = readFileSync(join(cache, name), 'utf8');
    writeFileSync(join(cache, name), kept.slice(0, 100));
    expect(loadKnowledge([folder], cache).faults.size).toBe(2);
    writeFileSync(join(cache, name), kept.replace('"dead-cell":0.9', '"dead-cell":1.9'));
    expect(() => loadKnowledge([folder], cache)).toThrow(BadPack);
  });

  it('runs the checks across files again when a file changed', () => {
    const folder = packIn(smallPack);
    const cache = mkdtempSync(join(tmpdir(), 'cache-'));
    loadKnowledge([folder], cache);
    const file = join(folder, 'faults.yaml');
    writeFileSync(file, readFileSync(file, 'utf8').replace('component: mainboard', 'component: board'));
    expect(() => loadKnowledge([folder], cache)).toThrow('no components has the id "board"');
    expect(() => loadKnowledge([folder], cache)).toThrow('no components has the id "board"');
  });

  it('works without a cache folder that can be written', () => {
    const folder = packIn(smallPack);
    expect(loadKnowledge([folder], join(folder, 'faults.yaml')).faults.size).toBe(2);
  });
});

describe('a bad pack is refused with file and line', () => {
  it.each([
    [
      'a probability of 1.2',
      'symptoms',
      'dead-board: 0.8',
      'dead-board: 1.2',
      /^symptoms\.yaml:8 dead: seen\.faults\.dead-board is 1\.2: .*<=1/,
    ],
    [
      'a negative probability',
      'remedies',
      'dead-board: 0.8',
      'dead-board: -0.1',
      /^remedies\.yaml:17 fit-board: works\.dead-board is -0\.1: .*>=0/,
    ],
    ['a misspelt key', 'faults', 'weight: 1', 'wieght: 1', /^faults\.yaml:2 dead-board: .*wieght/],
    ['a bad id', 'features', 'loose-cell', 'Loose_Cell', /^features\.yaml:2 Loose_Cell: id .*lower-case/],
    [
      'a bad ground',
      'faults',
      'ground: practice',
      'ground: hearsay',
      /^faults\.yaml:1 .*"hearsay".*practice, memory/,
    ],
    [
      'a bad ground with a source',
      'pairing',
      'at: clause 3',
      'page: 3',
      /^pairing\.yaml:1 display-notice: ground: .*page/,
    ],
    ['an id twice', 'faults', 'id: dead-board', 'id: dead-cell', /^faults\.yaml:2 dead-cell is there twice/],
    ['a date that is none', 'laws', '2025-06-20', '2025-06-31', /^laws\.yaml:1 a-law: from is "2025-06-31"/],
    ['a key twice', 'symptoms', 'dead-board: 0.8', 'dead-cell: 0.8', /^symptoms\.yaml:8 .*unique/],
    ['YAML that does not parse', 'checks', 'needs: [meter]', 'needs: [meter', /^checks\.yaml:\d+ /],
    ['a list that is none', 'lessons', '- {id', '{id', /^lessons\.yaml:1 must be a list/],
    [
      'a number in text',
      'regions',
      "'112'",
      '112',
      /^regions\.yaml:2 emergency\.EU\.number is 112: .*string/,
    ],
  ])('%s', (_, file, passage, by, wanted) => {
    expect(refusals(brokenPack(file, passage, by))).toContainEqual(expect.stringMatching(wanted));
  });

  it('lists every problem at once, in the order of files and lines', () => {
    const problems = refusals(
      packIn({
        ...smallPack,
        symptoms: (smallPack.symptoms ?? '').replace('otherwise: 0.1', 'otherwise: 7').replace('0.9', '-1'),
        faults: (smallPack.faults ?? '').replace('component: battery', 'component: batery'),
      }),
    );
    expect(problems.map((line) => line.split(' ')[0])).toEqual([
      'faults.yaml:1',
      'symptoms.yaml:5',
      'symptoms.yaml:7',
    ]);
  });

  it('names a missing file, a strange file and a missing folder', () => {
    const { lessons: _, ...rest } = smallPack;
    expect(refusals(packIn(rest))).toEqual(['lessons.yaml:1 missing']);
    expect(refusals(packIn({ ...smallPack, fault: '' }))).toEqual([
      expect.stringMatching(/^fault\.yaml:1 not a file of a pack; those are sources\.yaml/),
    ]);
    expect(refusals('/nowhere/at-all')).toContain('at-all:1 there is no such folder');
  });

  it('points into the folder above when the fault is there', () => {
    const over = packIn({
      lessons:
        '- {id: a, about: [battery], says: x, ground: practice}\n- {id: b, about: [batery], says: x, ground: practice}',
    });
    expect(refusals(packIn(smallPack), over)).toEqual([
      expect.stringMatching(/^lessons\.yaml:2 b: no components, .* has the id "batery"/),
    ]);
  });
});
