import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { groundWords } from '../../commands/shared/words.ts';
import { BadPack, inspectPack, loadKnowledge, packFolder } from '../../knowledge/load.ts';
import { locate } from '../../knowledge/locate.ts';
import type { Ground } from '../../knowledge/schema.ts';
import { render } from '../../shared/language/render.ts';
import { brokenPack, packIn, smallPack, temporary } from './small-pack.ts';

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
    expect(knowledge.symptoms.get('dead')?.means).toEqual([]);
    expect(knowledge.laws[0]?.from).toBe('2025-06-20');
    expect(knowledge.version).toMatch(/^[0-9a-f]{12}$/);
  });

  it('lays a later folder over the first by id', () => {
    const over = packIn({
      faults:
        '- {id: dead-cell, name: Worn cell, component: battery, weight: 9, why: It is old., ground: practice}',
      lessons: '- {id: another, about: [mainboard], says: Keep it dry., ground: practice}',
      regions:
        "emergency: {NZ: {fire: {number: '111', ground: memory}}, EU: {poison: {number: '13', ground: memory}}}\neu: [FR]",
      checks: '',
    });
    const base = packIn(smallPack);
    const plain = loadKnowledge([base], null);
    const laid = loadKnowledge([base, over], null);
    expect([...laid.faults.values()].map(({ name }) => name)).toEqual(['Worn cell', 'Dead board']);
    expect(laid.lessons.map(({ id }) => id)).toEqual(['a-lesson', 'another']);
    expect(laid.regions.emergency).toMatchObject({
      EU: { fire: { number: '112' }, poison: { number: '13' } },
      NZ: { fire: { number: '111' } },
    });
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
    const cache = temporary('cache-');
    const fresh = loadKnowledge([folder], cache);
    expect(readdirSync(cache).sort()).toEqual([
      expect.stringMatching(/^pack-.*\.json$/),
      expect.stringMatching(/^passed-/),
    ]);
    expect(loadKnowledge([folder], cache)).toEqual(fresh);
    const file = join(folder, 'faults.yaml');
    writeFileSync(file, readFileSync(file, 'utf8').replace('Dead cell', 'Flat cell'));
    expect(loadKnowledge([folder], cache).faults.get('dead-cell')?.name).toBe('Flat cell');
  });

  it('reads the files when the cache is damaged, and checks what a cache says', () => {
    const folder = packIn(smallPack);
    const cache = temporary('cache-');
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
    const cache = temporary('cache-');
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
      /^symptoms\.yaml:8 dead: seen\.faults\.dead-board is 1\.2: .*at most 1/,
    ],
    [
      'a negative probability',
      'remedies',
      'dead-board: 0.8',
      'dead-board: -0.1',
      /^remedies\.yaml:17 fit-board: works\.dead-board is -0\.1: .*at least 0/,
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
      /^regions\.yaml:2 emergency\.EU\.fire\.number is 112: .*text/,
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

describe('what is read', () => {
  it('is every file of the pack', () => {
    const knowledge = loadKnowledge([packIn(smallPack)], null);
    const sizes = Object.fromEntries(
      Object.entries(knowledge).flatMap(([name, found]) =>
        found instanceof Map ? [[name, found.size]] : Array.isArray(found) ? [[name, found.length]] : [],
      ),
    );
    expect(sizes).toEqual({
      sources: 1,
      features: 2,
      components: 3,
      families: 1,
      pairing: 1,
      symptoms: 1,
      faults: 2,
      checks: 1,
      remedies: 2,
      functions: 1,
      cautions: 1,
      laws: 1,
      lessons: 1,
      factors: 1,
      rates: 1,
      words: 0,
      secrets: 0,
      translations: 0,
    });
    expect(knowledge.pairing[0]?.id).toBe('display-notice');
    expect(knowledge.functions.get('fit')?.name).toBe('Fit');
    expect(knowledge.factors[0]).toMatchObject({ low: 0.1, high: 0.3 });
    expect(knowledge.regions).toEqual({
      emergency: { EU: { fire: { number: '112', ground: 'practice' } } },
      eu: ['DE'],
      dispose: { other: 'Never in the bin.' },
    });
  });

  it('is the pack that comes with the bot, unless another is named', () => {
    expect(existsSync(join(packFolder, 'faults.yaml'))).toBe(true);
    expect(loadKnowledge().version).toBe(loadKnowledge([packFolder], null).version);
    expect(inspectPack([packFolder], null).findings).toEqual([]);
  });

  it('passes over what is no YAML, and knows YAML by the end of the name', () => {
    const folder = packIn(smallPack);
    for (const name of ['notes.txt', 'faults.yaml.bak', 'faults.yaml~'])
      writeFileSync(join(folder, name), 'x');
    expect(refusals(folder)).toEqual([]);
    writeFileSync(join(folder, 'faults.yml'), '');
    expect(refusals(folder)).toEqual([
      'faults.yml:1 not a file of a pack; those are sources.yaml, features.yaml, components.yaml, families.yaml, pairing.yaml, symptoms.yaml, faults.yaml, checks.yaml, remedies.yaml, functions.yaml, cautions.yaml, laws.yaml, lessons.yaml, factors.yaml, rates.yaml, regions.yaml',
    ]);
  });

  it('tells two contents apart by their version, and each of two folders counts', () => {
    const [a, b] = [packIn(smallPack), packIn({ lessons: '' })];
    const more = packIn({ lessons: '- {id: b, about: [battery], says: x, ground: practice}' });
    const versions = [[a], [a, b], [a, more]].map((folders) => loadKnowledge(folders, null).version);
    expect(new Set(versions).size).toBe(3);
  });
});

describe('the cache', () => {
  it('is used: what it holds for these contents is what is read', () => {
    const folder = packIn(smallPack);
    const cache = temporary('cache-');
    loadKnowledge([folder], cache);
    const name = readdirSync(cache).find((file) => file.endsWith('.json')) ?? '';
    expect(name).toMatch(/^pack-[0-9a-f]{16}\.json$/);
    const kept = readFileSync(join(cache, name), 'utf8');
    writeFileSync(join(cache, name), kept.replace('Dead cell', 'From the cache'));
    expect(loadKnowledge([folder], cache).faults.get('dead-cell')?.name).toBe('From the cache');
    // For other contents it is not.
    writeFileSync(
      join(cache, name),
      kept.replace(/"key":"./, '"key":"-').replace('Dead cell', 'From the cache'),
    );
    expect(loadKnowledge([folder], cache).faults.get('dead-cell')?.name).toBe('Dead cell');
  });

  it('keeps nothing of a file that does not parse', () => {
    const cache = temporary('cache-');
    const folder = brokenPack('checks', 'needs: [meter]', 'needs: [meter');
    for (const _ of ['first', 'second']) expect(() => loadKnowledge([folder], cache)).toThrow('checks.yaml');
    expect(readdirSync(cache)).toEqual([]);
  });

  it('that a pack has passed is taken for that content alone', () => {
    const folder = packIn(smallPack);
    const cache = temporary('cache-');
    loadKnowledge([folder], cache);
    const [name, ...passes] = readdirSync(cache).sort();
    expect(passes).toEqual([expect.stringMatching(/^passed-[0-9a-f]{16}$/)]);
    // A pack with something wrong in it is refused in spite of another's pass, and gets none.
    const bad = brokenPack('faults', 'component: mainboard', 'component: board');
    expect(() => loadKnowledge([bad], cache)).toThrow(BadPack);
    expect(readdirSync(cache).filter((file) => file.startsWith('passed-'))).toEqual(passes);
    // The checks across files are left out for what has passed: seen by a parsed file that was changed after it.
    const kept = readFileSync(join(cache, name ?? ''), 'utf8');
    writeFileSync(join(cache, name ?? ''), kept.replaceAll('component":"mainboard"', 'component":"board"'));
    expect(loadKnowledge([folder], cache).faults.get('dead-board')?.component).toBe('board');
  });
});

describe('what is said of a bad pack', () => {
  const messageOf = (...folders: string[]): string => {
    try {
      loadKnowledge(folders, null);
    } catch (error) {
      if (error instanceof BadPack) return `${error.name} ${error.message}`;
    }
    return '';
  };

  it('begins with how many problems there are, one a line', () => {
    const one = brokenPack('faults', 'component: mainboard', 'component: board');
    expect(messageOf(one)).toMatch(
      /^BadPack The knowledge pack has 1 problem:\n[^\n]*faults\.yaml:2 [^\n]*$/,
    );
    const two = packIn({
      ...smallPack,
      faults: (smallPack.faults ?? '')
        .replace('component: mainboard', 'component: board')
        .replace('component: battery', 'component: cell'),
    });
    expect(messageOf(two)).toMatch(
      /^BadPack The knowledge pack has 2 problems:\n[^\n]*faults\.yaml:1 [^\n]*\n[^\n]*faults\.yaml:2 [^\n]*$/,
    );
  });

  it('names the key that should not be there, at its line', () => {
    const found = refusals(brokenPack('checks', '  minutes: 2\n', '  minutes: 2\n  colour: red\n'));
    expect(found).toEqual([expect.stringMatching(/^checks\.yaml:5 current: .*colour/)]);
  });

  it('says for a ground what it may be, and names the key that is wrong in one with a source', () => {
    expect(refusals(brokenPack('lessons', 'ground: practice', 'ground: hearsay'))).toEqual([
      'lessons.yaml:1 a-lesson: ground is "hearsay": wanted practice, memory, or {source: id, at: place}',
    ]);
    expect(refusals(brokenPack('lessons', 'ground: practice', 'ground: {sauce: a}'))).toEqual(
      expect.arrayContaining([expect.stringMatching(/^lessons\.yaml:1 a-lesson: ground(\.source)?: /)]),
    );
    expect(refusals(brokenPack('lessons', 'ground: practice', 'ground: 7'))).toEqual([
      'lessons.yaml:1 a-lesson: ground is 7: wanted practice, memory, or {source: id, at: place}',
    ]);
  });

  it('an entry without an id, or with one that is no text, is told by what is wrong in it', () => {
    for (const [by, wanted] of [
      ['', /^lessons\.yaml:1 id: /],
      ['id: 7, ', /^lessons\.yaml:1 id is 7: /],
    ] as const)
      expect(refusals(brokenPack('lessons', 'id: a-lesson, ', by))).toContainEqual(
        expect.stringMatching(wanted),
      );
    expect(refusals(brokenPack('lessons', (smallPack.lessons ?? '').trim(), '- just words'))).toEqual([
      expect.stringMatching(/^lessons\.yaml:1 .*fields with their values/),
    ]);
    // Two without an id are not the same one twice.
    expect(
      refusals(brokenPack('lessons', (smallPack.lessons ?? '').trim(), '- {says: x}\n- {says: y}')).join(),
    ).not.toContain('twice');
  });

  it('an id that is there twice is shown at the second', () => {
    expect(
      refusals(
        packIn({
          ...smallPack,
          lessons:
            '- id: b\n  about: [battery]\n  says: x\n  ground: practice\n- about: [battery]\n  says: x\n  id: b\n  ground: practice\n',
        }),
      ),
    ).toEqual(['lessons.yaml:7 b is there twice']);
  });

  it('what refers to an entry that is itself refused is not called wrong as well', () => {
    const found = refusals(brokenPack('components', 'name: battery, annexName', 'nome: battery, annexName'));
    for (const line of found) expect(line).toMatch(/^components\.yaml:1 battery: /);
    const none = refusals(brokenPack('components', '- {id: battery', '{id: battery'));
    for (const line of none) expect(line).toMatch(/^components\.yaml:/);
    const { components: _, ...rest } = smallPack;
    expect(refusals(packIn(rest))).toEqual(['components.yaml:1 missing']);
  });

  it('a regions file that is empty is as good as none in a folder above', () => {
    expect(refusals(packIn(smallPack), packIn({ regions: '' }))).toEqual([]);
    expect(refusals(packIn(smallPack), packIn({ regions: 'eu: [FR]' }))).toEqual([]);
    expect(refusals(packIn({ ...smallPack, regions: 'eu: [FR]' }))).toContainEqual(
      expect.stringMatching(/^regions\.yaml:1 emergency/),
    );
  });

  it('is in the order of files, then of lines, and a file outside the working folder has its whole path', () => {
    const at = (file: string, line: number) => ({ file, path: [], line, problem: 'p' });
    const placed = locate([at('/b/x.yaml', 9), at('/b/x.yaml', 10), at('/a/y.yaml', 3), at('/b/x.yaml', 2)]);
    expect(placed.map(({ file, line }) => `${file}:${line}`)).toEqual([
      '/a/y.yaml:3',
      '/b/x.yaml:2',
      '/b/x.yaml:9',
      '/b/x.yaml:10',
    ]);
    expect(locate([at(join(process.cwd(), 'knowledge/pack/faults.yaml'), 1)])[0]?.file).toBe(
      join('knowledge', 'pack', 'faults.yaml'),
    );
    // A file that cannot be read has its first line.
    expect(locate([{ file: '/nowhere/z.yaml', path: [3, 'id'], problem: 'p' }])[0]?.line).toBe(1);
  });

  it('a path is followed through lists and keys as far as it goes', () => {
    const file = join(packIn({ faults: 'first:\n  - a: 1\n    b:\n      c: 2\n  - d: 3\n' }), 'faults.yaml');
    const lineOf = (...path: (string | number)[]) => locate([{ file, path, problem: 'p' }])[0]?.line;
    expect(lineOf()).toBe(1);
    expect(lineOf('first')).toBe(1);
    expect(lineOf('first', 0)).toBe(2);
    expect(lineOf('first', 0, 'b')).toBe(3);
    expect(lineOf('first', 0, 'b', 'c')).toBe(4);
    expect(lineOf('first', 0, 'b', 'c', 'deeper')).toBe(4);
    expect(lineOf('first', 0, 'not-there')).toBe(2);
    expect(lineOf('first', 1, 'd')).toBe(5);
    expect(lineOf('first', 7)).toBe(1);
  });
});

describe('a ground in words', () => {
  const knowledge = loadKnowledge(
    [
      packIn({
        ...smallPack,
        sources:
          '- {id: a-standard, title: A standard, publisher: A body, checked: read}\n- {id: told, title: A rule, publisher: A body, checked: reported}\n- {id: known, title: A limit, publisher: A body, checked: memory}\n',
        lessons:
          '- {id: a, about: [battery], says: x, ground: {source: told}}\n- {id: b, about: [battery], says: x, ground: {source: known}}\n',
      }),
    ],
    null,
  );
  const groundInWords = (of: typeof knowledge, ground: Ground) =>
    render(groundWords({ knowledge: of }, ground), 'en');
  it('says practice, memory, or the source with its place and how it is known', () => {
    expect(groundInWords(knowledge, 'practice')).toBe('common practice, no source');
    expect(groundInWords(knowledge, 'memory')).toContain('from memory');
    expect(groundInWords(knowledge, { source: 'a-standard', at: 'clause 3' })).toBe('A standard, clause 3');
    expect(groundInWords(knowledge, { source: 'a-standard' })).toBe('A standard');
    expect(groundInWords(knowledge, { source: 'told' })).toMatch(/^A rule.*reported/);
    expect(groundInWords(knowledge, { source: 'known', at: 'table 1' })).toMatch(
      /^A limit, table 1.*from memory/,
    );
    expect(groundInWords(knowledge, { source: 'gone', at: 'p. 2' })).toBe('gone, p. 2');
  });
});
