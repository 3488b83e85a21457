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
      'conditions of a fault, at its line',
      'faults',
      '- {id: dead-board, name: Dead board, component: mainboard,',
      '- id: dead-board\n  name: Dead board\n  with: [glued-front, wet]\n  component: mainboard\n  weight: 1\n  why: It was wet.\n  ground: practice\n- {id: spare, name: Spare, component: mainboard,',
      'faults.yaml:4 dead-board: no features has the id "wet"',
    ],
    [
      'component of a fault, at its line',
      'faults',
      '- {id: dead-board, name: Dead board, component: mainboard,',
      '- id: dead-board\n  name: Dead board\n  component: board\n  weight: 1\n  times: {wet: 2}\n  why: It was wet.\n  ground: practice\n- {id: spare, name: Spare, component: mainboard,',
      'faults.yaml:4 dead-board: no components has the id "board"',
    ],
    [
      'factors of a fault, at their line',
      'faults',
      '- {id: dead-board, name: Dead board, component: mainboard,',
      '- id: dead-board\n  name: Dead board\n  component: mainboard\n  weight: 1\n  times: {wet: 2}\n  why: It was wet.\n  ground: practice\n- {id: spare, name: Spare, component: mainboard,',
      'faults.yaml:6 dead-board: no features has the id "wet"',
    ],
    [
      'conditions of a pairing statement, at their line',
      'pairing',
      '- {id: display-notice, component: display-assembly, when: [glued-front],',
      '- id: display-notice\n  component: display-assembly\n  when: [glue]\n  effect: notice\n  loses: x\n  travels: false\n  mends: x\n  likely: 0.6\n  strength: 8\n  ground: {source: a-standard}\n- {id: spare, component: display-assembly, when: [glued-front],',
      'pairing.yaml:3 display-notice: no features has the id "glue"',
    ],
    [
      'symptoms that make a check impossible',
      'checks',
      'needs: [meter]',
      'needs: [meter]\n  when: { not: [dumb] }',
      'checks.yaml:7 current: no symptoms has the id "dumb"',
    ],
    [
      'features that a remedy must not have',
      'remedies',
      'consumables: 0.01',
      'without: [wet]\n  consumables: 0.01',
      'remedies.yaml:6 fit-cell: no features has the id "wet"',
    ],
    [
      'components of a function',
      'functions',
      'components: [battery]',
      'components: [batery]',
      'functions.yaml:5 fit: no components has the id "batery"',
    ],
    [
      'conditions of a function',
      'functions',
      'components: [battery]',
      'components: [battery]\n  with: [wet]',
      'functions.yaml:6 fit: no features has the id "wet"',
    ],
    [
      'what a lesson is about, at its line',
      'lessons',
      '- {id: a-lesson, about: [battery], says: It ages., ground: practice}',
      '- id: a-lesson\n  says: It ages.\n  about:\n    - battery\n    - batery\n  ground: practice',
      'lessons.yaml:5 a-lesson: no components, features, symptoms, checks, remedies, faults has the id "batery"',
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
      'cautions.yaml:10 heat: no sources has the id "nose"',
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
      'a unit without bands',
      'checks',
      'says: Nothing., band: {from: 0, to: 0.02}}\n    - {id: some, says: Some., band: {from: 0.02, to: 3}}',
      'says: Nothing.}\n    - {id: some, says: Some.}',
      'checks.yaml:8 current: a unit without a band',
    ],
    [
      'a band of no width',
      'checks',
      'from: 0.02, to: 3',
      'from: 3, to: 3',
      'checks.yaml:11 current: band of some: 3 is not below 3',
    ],
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
      'cautions.yaml:8 heat: do needs "Local codes and licensed practice come first" at the beginning',
    ],
    [
      'a caution whose lead says the local codes',
      'cautions',
      'lead: Warm low and slow.',
      'lead: Warm low and slow. Local codes and licensed practice come first.',
      'cautions.yaml:5 heat: lead needs no "Local codes and licensed practice come first": that stands over all cards',
    ],
    [
      'a caution that says the local codes after something else',
      'cautions',
      'do: [{says: Local',
      'do: [{says: Warm slowly., ground: practice}, {says: Local',
      'cautions.yaml:8 heat: do needs "Local codes and licensed practice come first" at the beginning',
    ],
    [
      'a caution with no line for repeats',
      'cautions',
      '  short: Warm; stop at a smell.\n',
      '',
      'cautions.yaml:1 heat: short needs one line with "stop" for repeats, or "neverShort: true" in its place',
    ],
    [
      'a line for repeats that does not say when to stop',
      'cautions',
      'Warm; stop at a smell.',
      'Warm.',
      'cautions.yaml:6 heat: short needs one line with "stop" for repeats, or "neverShort: true" in its place',
    ],
    [
      'a line for repeats of what is never shortened',
      'cautions',
      'tone: caution',
      'tone: caution\n  neverShort: true',
      'cautions.yaml:7 heat: short needs one line with "stop" for repeats, or "neverShort: true" in its place',
    ],
    [
      'liquid that is shortened',
      'cautions',
      'firesOn: [heats]',
      'firesOn: [heats, wet]',
      'cautions.yaml:6 heat: short needs "neverShort: true"',
    ],
    [
      'a line for repeats that is too long',
      'cautions',
      'Warm; stop at a smell.',
      `Stop at ${'a smell or '.repeat(11)}smoke.`,
      expect.stringMatching(/^cautions\.yaml:6 heat: short is .*110/),
    ],
    [
      'a caution that says nobody to call',
      'cautions',
      'Call {fire}.',
      'Call someone.',
      'cautions.yaml:11 heat: getHelp needs whom to call: {fire} or {ambulance} or {police} or {poison}',
    ],
    [
      'a caution about cells that calls no fire service',
      'cautions',
      'Call {fire}.',
      'Call {ambulance}.',
      'cautions.yaml:11 heat: getHelp needs {fire}, since a cell may burn',
    ],
    [
      'a caution about cells that does not say where they go',
      'cautions',
      "says: '{dispose}'",
      "says: 'Away.'",
      'cautions.yaml:12 heat: dispose needs {dispose}, where the cell goes',
    ],
    [
      'a grave hazard whose caution is no danger',
      'cautions',
      'firesOn: [heats]',
      'firesOn: [heats, laser]',
      'cautions.yaml:4 heat: tone needs the tone "danger"',
    ],
    [
      'a remedy whose words ask for a hazard',
      'remedies',
      'steps: [Fit it.]',
      'steps: [Work a plastic pick round.]',
      'remedies.yaml:9 fit-cell: says "plastic pick" without hazard "pries"',
    ],
    [
      'a remedy whose words say that the phone is on',
      'remedies',
      'steps: [Fit it.]',
      'steps: [Try picture and touch.]',
      'remedies.yaml:9 fit-cell: says "Try picture" without "powers: true"',
    ],
    [
      'a check whose words ask for a hazard',
      'checks',
      'ask: Read the meter.',
      'ask: Put it on a charger.',
      'checks.yaml:7 current: says "on a charger" without hazard "charges"',
    ],
    [
      'a step of a family whose words ask for a hazard',
      'families',
      'steps: [Lift the board.]',
      'steps: [Part the halves.]',
      'families.yaml:7 glued: says "Part the halves" without hazard "pries"',
    ],
    [
      'a function that does not say whether the phone is on',
      'functions',
      '  powers: true\n',
      '',
      'functions.yaml:1 fit: is done with the phone on: needs "powers: true", or a reason in "mentions"',
    ],
    [
      'a hazardous function',
      'functions',
      'how: It fits.',
      'how: It fits.\n  hazards: [static]',
      'functions.yaml:4 fit: hazard "static" has no caution that fires on it',
    ],
    [
      'an outcome whose words state a fact',
      'checks',
      'says: Nothing.',
      'says: Green film.',
      'checks.yaml:10 current: says "Green" without "means: [wet]"',
    ],
    [
      'a symptom whose words state a fact',
      'symptoms',
      'alias: [black]',
      'alias: [swollen]',
      'symptoms.yaml:2 dead: says "swollen" without "means: [swollen]"',
    ],
    [
      'a remedy that an outcome bars and that is not there',
      'checks',
      'says: Nothing., band',
      'says: Nothing., bars: [part-charge], band',
      'checks.yaml:10 current: no remedies has the id "part-charge"',
    ],
    [
      'a strange placeholder',
      'cautions',
      '{fire}',
      '{emergency}',
      'cautions.yaml:11 heat: {emergency} is none of {fire}, {ambulance}, {police}, {poison}, {dispose}',
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
    expect(problemsOf(brokenPack(file, passage, by))).toContainEqual(wanted);
  });

  it('is content with bands in any order, with a day, and with a law that has no first day', () => {
    const apart = brokenPack(
      'checks',
      'band: {from: 0, to: 0.02}}\n    - {id: some, says: Some., band: {from: 0.02, to: 3}}',
      'band: {from: 0.02, to: 3}}\n    - {id: some, says: Some., band: {from: 0, to: 0.02}}',
    );
    expect(problemsOf(apart)).toEqual([]);
    expect(problemsOf(brokenPack('laws', 'until: null', 'until: 2025-06-20'))).toEqual([]);
    expect(
      problemsOf(brokenPack('laws', 'from: 2025-06-20, until: null', 'from: null, until: 2020-01-01')),
    ).toEqual([]);
    expect(problemsOf(brokenPack('factors', 'high: 0.3', 'high: 0.1'))).toEqual([]);
    // A remedy may name a fault that it never mends beside one that it does.
    expect(
      problemsOf(brokenPack('remedies', 'dead-board: 0.8', 'dead-board: 0.8\n    dead-cell: 0')),
    ).toEqual([]);
    // A name may be its own id, or its own name again.
    expect(problemsOf(brokenPack('symptoms', 'alias: [black]', 'alias: [black, dead, Dead]'))).toEqual([]);
  });

  it('finds a name twice whatever its case, hyphens and spaces', () => {
    for (const name of ['LOGIC board', 'logic_board', 'logic  board', ' logic-board ']) {
      const found = problemsOf(brokenPack('components', 'plain: [screen]', `plain: ['${name}']`));
      expect(found, name).toContainEqual(expect.stringContaining('is also a name of mainboard'));
    }
  });

  it('says nothing of what is missing while the entries that might have it could not be read', () => {
    const noSymptom = brokenPack('symptoms', 'otherwise: 0.1', 'otherwise: 7');
    expect(problemsOf(noSymptom)).toEqual([expect.stringMatching(/^symptoms\.yaml:5 /)]);
    const noFamily = brokenPack('families', 'era: {from: 2014, to: null}', 'era: {from: long ago, to: null}');
    expect(problemsOf(noFamily)).toEqual([expect.stringMatching(/^families\.yaml:4 /)]);
    const noCaution = brokenPack('cautions', 'tone: caution', 'tone: loud');
    expect(problemsOf(noCaution)).toEqual([expect.stringMatching(/^cautions\.yaml:4 /)]);
    const noSource = brokenPack('sources', 'checked: read', 'checked: perhaps');
    expect(problemsOf(noSource)).toEqual([expect.stringMatching(/^sources\.yaml:1 /)]);
  });

  it('notes an entry that fits no family, by the features it asks for and by those it bars', () => {
    const notesOf = (folder: string) =>
      locate(inspectPack([folder], null).notes).map(
        ({ file, line, problem }) => `${file.split('/').at(-1)}:${line} ${problem}`,
      );
    const at = 'remedies.yaml:1 fit-cell: fits no family';
    expect(
      notesOf(brokenPack('remedies', 'consumables: 0.01', 'with: [loose-cell]\n  consumables: 0.01')),
    ).toContain(at);
    expect(
      notesOf(brokenPack('remedies', 'consumables: 0.01', 'without: [glued-front]\n  consumables: 0.01')),
    ).toContain(at);
    for (const fine of ['with: [glued-front]', 'without: [loose-cell]'])
      expect(notesOf(brokenPack('remedies', 'consumables: 0.01', `${fine}\n  consumables: 0.01`))).toEqual(
        [],
      );
    expect(notesOf(packIn(smallPack))).toEqual([]);
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
