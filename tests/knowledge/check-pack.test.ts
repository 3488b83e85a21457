import { describe, expect, it } from 'vitest';
import { inspectPack } from '../../knowledge/load.ts';
import { locate } from '../../knowledge/locate.ts';
import { brokenPack, packIn, smallPack } from './small-pack.ts';

const problemsOf = (folder: string): string[] =>
  locate(inspectPack([folder], null).findings).map(
    ({ file, line, problem }) => `${file.split('/').at(-1)}:${line} ${problem}`,
  );

describe('checks across the files of a pack', () => {
  it('finds nothing wrong with a pack that is right', () => {
    expect(problemsOf(packIn(smallPack))).toEqual([]);
  });

  it.each([
    [
      'features of a family',
      'families',
      '[glued-front]',
      '[glued-font]',
      'families.yaml:5 glued: no features has the id "glued-font"',
    ],
    [
      'components of a family',
      'families',
      'mainboard: null',
      'mainbord: null',
      'families.yaml:12 glued: no components has the id "mainbord"',
    ],
    [
      'features of a pairing statement',
      'pairing',
      'when: [glued-front]',
      'when: [glue]',
      'pairing.yaml:1 display-notice: no features has the id "glue"',
    ],
    [
      'component of a pairing statement',
      'pairing',
      'component: display-assembly',
      'component: screen',
      'pairing.yaml:1 display-notice: no components has the id "screen"',
    ],
    [
      'faults of a symptom',
      'symptoms',
      'dead-board: 0.8',
      'dead-bord: 0.8',
      'symptoms.yaml:8 dead: no faults has the id "dead-bord"',
    ],
    [
      'conditions of a symptom',
      'symptoms',
      '  seen:',
      '  without: [x]\n  seen:',
      'symptoms.yaml:4 dead: no features has the id "x"',
    ],
    [
      'component of a fault',
      'faults',
      'component: mainboard',
      'component: board',
      'faults.yaml:2 dead-board: no components has the id "board"',
    ],
    [
      'factors of a fault',
      'faults',
      'weight: 5,',
      'weight: 5, times: {wet: 2},',
      'faults.yaml:1 dead-cell: no features has the id "wet"',
    ],
    [
      'faults of a check',
      'checks',
      'dead-cell: [0.7',
      'dead-cel: [0.7',
      'checks.yaml:15 current: no faults has the id "dead-cel"',
    ],
    [
      'faults of a remedy',
      'remedies',
      'dead-cell: 0.95',
      'dead: 0.95',
      'remedies.yaml:4 fit-cell: no faults has the id "dead"',
    ],
    [
      'parts of a remedy',
      'remedies',
      'component: battery',
      'component: cell',
      'remedies.yaml:5 fit-cell: no components has the id "cell"',
    ],
    [
      'what a lesson is about',
      'lessons',
      '[battery]',
      '[batery]',
      'lessons.yaml:1 a-lesson: no components, features, symptoms, checks, remedies, faults has the id "batery"',
    ],
    [
      'sources',
      'faults',
      'ground: practice',
      'ground: {source: hearsay}',
      'faults.yaml:1 dead-cell: no sources has the id "hearsay"',
    ],
    [
      'sources of a caution',
      'cautions',
      'says: It smells., ground: practice',
      'says: It smells., ground: {source: nose}',
      'cautions.yaml:9 heat: no sources has the id "nose"',
    ],
    [
      'sources of a region',
      'regions',
      'ground: practice',
      'ground: {source: phone-book}',
      'regions.yaml:2 no sources has the id "phone-book"',
    ],
  ])('unknown ids: %s', (_, file, passage, by, wanted) => {
    expect(problemsOf(brokenPack(file, passage, by))).toContain(wanted);
  });

  it.each([
    [
      'a row that does not add up',
      'checks',
      '[0.7, 0.3]',
      '[0.7, 0.2]',
      'checks.yaml:15 current: the chances of dead-cell add up to 0.9, not 1',
    ],
    [
      'the row for other faults',
      'checks',
      '[0.5, 0.5]',
      '[0.5, 0.500001]',
      'checks.yaml:13 current: the chances of otherwise add up to 1.000001, not 1',
    ],
    [
      'a row of the wrong length',
      'checks',
      '[0.7, 0.3]',
      '[0.7, 0.2, 0.1]',
      'checks.yaml:15 current: dead-cell has 3 chances for 2 outcomes',
    ],
    [
      'bands that overlap',
      'checks',
      'from: 0.02, to: 3',
      'from: 0.01, to: 3',
      'checks.yaml:11 current: the bands of none and some overlap',
    ],
    [
      'a band that runs backwards',
      'checks',
      'from: 0.02, to: 3',
      'from: 3, to: 0.02',
      'checks.yaml:11 current: band of some: 3 is not below 0.02',
    ],
    ['bands without a unit', 'checks', '  unit: A\n', '', 'checks.yaml:8 current: bands without a unit'],
    [
      'an outcome twice',
      'checks',
      'id: some',
      'id: none',
      'checks.yaml:11 current: outcome none is there twice',
    ],
    [
      'a check that tells nothing apart',
      'checks',
      'dead-cell: [0.7, 0.3]\n      dead-board: [0.4, 0.6]',
      'dead-cell: [0.4, 0.6]\n      dead-board: [0.4, 0.6]',
      'checks.yaml:12 current: its outcomes cannot tell any two faults apart',
    ],
    [
      'a check that tells apart only what its families cannot have',
      'checks',
      'needs: [meter]',
      'needs: [meter]\n  with: [loose-cell]',
      'checks.yaml:13 current: its outcomes cannot tell any two faults apart',
    ],
    [
      'a remedy for no fault',
      'remedies',
      'dead-board: 0.8',
      'dead-board: 0',
      'remedies.yaml:16 fit-board: a remedy for no fault',
    ],
    [
      'a fault that no symptom shows',
      'symptoms',
      '      dead-board: 0.8\n',
      '',
      'faults.yaml:2 dead-board: no symptom shows this fault',
    ],
    [
      'a hazardous step of a family',
      'families',
      'minutes: 5, hazards: []',
      'minutes: 5, hazards: [static]',
      'families.yaml:7 glued: hazard "static" has no caution that fires on it',
    ],
    [
      'a hazardous check',
      'checks',
      'hazards: []',
      'hazards: [charges]',
      'checks.yaml:7 current: hazard "charges" has no caution that fires on it',
    ],
    [
      'a hazardous remedy',
      'cautions',
      'firesOn: [heats]',
      'firesOn: []',
      'remedies.yaml:9 fit-cell: hazard "heats" has no caution that fires on it',
    ],
    [
      'a source never used',
      'pairing',
      'ground: {source: a-standard, at: clause 3}',
      'ground: practice',
      'sources.yaml:1 a-standard: a source that nothing cites',
    ],
    [
      'a family without a mainboard',
      'families',
      '    mainboard: null\n',
      '',
      'families.yaml:10 glued: lacks "mainboard"',
    ],
    [
      'a name twice among components',
      'components',
      'plain: [screen]',
      'plain: [Logic-Board]',
      'components.yaml:3 display-assembly: "Logic-Board" is also a name of mainboard',
    ],
    [
      'a caution without the local codes',
      'cautions',
      'Local codes and licensed practice come first.',
      'Be careful.',
      'cautions.yaml:1 heat: does not say "Local codes and licensed practice come first"',
    ],
    [
      'a strange placeholder',
      'cautions',
      '{emergency}',
      '{police}',
      'cautions.yaml:10 heat: {police} is not {emergency} or {dispose}',
    ],
    [
      'a law that ends before it begins',
      'laws',
      'until: null',
      'until: 2024-01-01',
      'laws.yaml:1 a-law: ends before 2025-06-20',
    ],
    [
      'a factor whose range is upside down',
      'factors',
      'high: 0.3',
      'high: 0.03',
      'factors.yaml:1 weight: 0.03 is below 0.1',
    ],
    [
      'a factor of a whole life without its years',
      'factors',
      'per: phone',
      'per: life',
      'factors.yaml:1 weight: a whole life needs its years',
    ],
    [
      'a factor with years that is of no whole life',
      'factors',
      'per: phone',
      'per: phone, years: 3',
      'factors.yaml:1 weight: only a whole life has years',
    ],
  ])('%s', (_, file, passage, by, wanted) => {
    expect(problemsOf(brokenPack(file, passage, by))).toContain(wanted);
  });

  it('does not blame other files for ids of an entry that was itself refused', () => {
    const problems = problemsOf(brokenPack('faults', 'weight: 1', 'weight: -1'));
    expect(problems).toEqual([expect.stringMatching(/^faults\.yaml:2 dead-board: weight is -1/)]);
  });

  it('notes a fault that no remedy mends, without refusing it', () => {
    const folder = brokenPack('remedies', 'dead-cell: 0.95', 'dead-board: 0.1');
    const { findings, notes } = inspectPack([folder], null);
    expect(findings).toEqual([]);
    expect(locate(notes)).toEqual([
      {
        file: expect.stringContaining('faults.yaml'),
        line: 1,
        problem: 'dead-cell: no remedy mends this fault',
      },
    ]);
  });
});
