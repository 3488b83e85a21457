/**
 * Lists every check against the outside. `npm run outside` writes the page README.md beside this file;
 * `npm run outside -- --json` prints {"values", "sources"}: how many values with a source are checked, of how many documents.
 */
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gather, knownAs, type OutsideCheck, sourcesOf } from './check.ts';
import { sourceOf } from './sources.ts';

export const pageFile = fileURLToPath(new URL('README.md', import.meta.url));

/** Group, what it is about, and its file. */
const groups: readonly (readonly [heading: string, load: () => Promise<unknown>])[] = [
  ['IMEI', () => import('./imei.test.ts')],
  ['USB supply', () => import('./usb-supply.test.ts')],
  ['Cells', () => import('./cells.test.ts')],
  ['Heat, fume, solvent, eyes, static', () => import('./heat.test.ts')],
  ['Seals', () => import('./seals.test.ts')],
  ['Ageing of cells', () => import('./ageing.test.ts')],
  ['Erasure, ownership and lock', () => import('./erasure.test.ts')],
  ['Pairing law and names of components', () => import('./pairing-law.test.ts')],
  ['Repairability index', () => import('./repairability.test.ts')],
  ['Tax on the margin', () => import('./margin-tax.test.ts')],
  ['Money', () => import('./money.test.ts')],
  ['Weeks and zones', () => import('./weeks.test.ts')],
  ['Statistics', () => import('./statistics.test.ts')],
  ['How long things last', () => import('./survival.test.ts')],
  ['Open records', () => import('./open-records.test.ts')],
  ['What people bring, and how the pack is measured', () => import('./brought.test.ts')],
  ['Tracing', () => import('./tracing.test.ts')],
  ['Worth', () => import('./worth.test.ts')],
  ['Facts of the trade', () => import('./practice.test.ts')],
  ['Environment', () => import('./environment.test.ts')],
];

/** What of the bot runs a value: a heading, and the beginnings of `where` that are of it. The first that fits holds. */
const parts: readonly (readonly [heading: string, ...begins: string[]])[] = [
  ['Before a step, and in danger: `/caution`, and the cards of every command', '/caution'],
  ['What a swap does, the law, handling: `/paired`', '/paired'],
  ['Finding the fault: `/trace`', '/trace', 'shared/diagnosis/', 'knowledge/pack/checks.yaml'],
  ['What it is worth: `/worth`, `/lot`, `/prices`', '/worth', 'shared/worth/', 'shared/market/'],
  ['From intake to the next owner: `/job`', '/job', 'shared/jobs/', 'shared/imei/'],
  [
    'Phones by how they are built: `/family`',
    '/family',
    'shared/repairability/',
    'knowledge/pack/components.yaml',
  ],
  ['Open records: `/records`', '/records', 'shared/records/'],
  ['The week: `/week`', '/week', 'shared/week/', 'knowledge/pack/factors.yaml'],
  ['Amounts and days, in every reply', 'shared/money/', 'shared/time/'],
  ['Lessons and law of the pack, wherever they are shown', 'knowledge/pack'],
  ['The pack itself: `npm run knowledge`', 'knowledge/'],
];

/** The heading of what runs a check. @throws for one that nothing runs. */
function partOf({ id, where }: OutsideCheck): string {
  const found = parts.find(([, ...begins]) => begins.some((begin) => where.startsWith(begin)));
  if (!found) throw new Error(`${id}: nothing of the bot runs "${where}"`);
  return found[0];
}

/** The same checks by what runs them, and within that by what they are about. */
export const byPart = (all: readonly Group[]): { part: string; groups: Group[] }[] =>
  parts.map(([part]) => ({
    part,
    groups: all.flatMap(({ heading, checks }) => {
      const own = checks.filter((check) => partOf(check) === part);
      return own.length ? [{ heading, checks: own }] : [];
    }),
  }));

export interface Group {
  heading: string;
  checks: OutsideCheck[];
}

let read: Promise<Group[]> | undefined;
/** All checks, by group, without running them. */
export function readAll(): Promise<Group[]> {
  // A file is only run through when it is first imported, so what it put down is kept.
  read ??= (async () => {
    const all: Group[] = [];
    for (const [heading, load] of groups) all.push({ heading, checks: await gather(load) });
    return all;
  })();
  return read;
}

/** Values that a document or its rule gives, and how many documents: what stands on practice alone is not counted. */
export function counts(all: readonly Group[]): { values: number; sources: number } {
  const sourced = all.flatMap(({ checks }) => checks).filter((check) => knownAs(check) !== 'practice');
  return {
    values: new Set(sourced.map(({ id }) => id)).size,
    sources: new Set(sourced.flatMap(sourcesOf).filter((id) => id !== 'practice')).size,
  };
}

const cell = (text: string): string => text.replaceAll('|', '\\|');

function sourceWords(check: OutsideCheck): string {
  const named = sourcesOf(check).map((id) =>
    id === 'practice' ? 'common practice, no source' : `[${id}](#sources)`,
  );
  const known = knownAs(check);
  const how =
    known === 'read' || known === 'practice' ? '' : ` (${known === 'memory' ? 'from memory' : known})`;
  return `${named.join(', ')}${check.at ? `, ${check.at}` : ''}${how}`;
}

const row = (cells: readonly string[]): string => `| ${cells.map(cell).join(' | ')} |`;

/** Share of the changes of a mutation tool that the tests notice: measured. `tried`: of how many; the first share, where there is one. */
const mutation: readonly (readonly [what: string, tried: string, first: string, now: string])[] = [
  ['shared/money', '416 of 416', '87.5 %', '94.5 %'],
  ['shared/imei', '83 of 83', '96.4 %', '98.8 %'],
  ['shared/worth', '322 of 644', 'net.ts 79.3 %', '86.6 %'],
  ['shared/market: regression, robust, student-t, value', '444 of 444', '', '91.0 %'],
  ['shared/market: predict, settings', '119 of 238', '84.0 %', '89.9 %'],
  ['shared/market: sightings-csv', '103 of 309', '79.4 %', '90.3 %'],
  ['shared/diagnosis: learning, reading', '381 of 381', '75.9 %', '94.8 %'],
  ['shared/diagnosis: learnt', '105 of 105', '48.1 % of 27', '95.2 %'],
  ['knowledge: load, read-pack, locate, cache, grounds, yaml', '364 of 364', '67.3 %', '89.3 %'],
  ['knowledge: check-pack', '264 of 528', '77.8 %', '84.5 %'],
];

const mutationSection: readonly string[] = [
  '',
  '## Mutation',
  '',
  'Each check can fail. To see it, Stryker (9.6) changes the code in one place at a time and runs the tests of that part; the score is',
  'the share of its changes that a test notices, those that no test reaches counted as missed. It is no dependency: copy the project',
  'elsewhere, and there',
  '',
  '```',
  'npm install --no-save @stryker-mutator/core@9 @stryker-mutator/vitest-runner@9',
  'npx stryker run stryker.json',
  '```',
  '',
  'with a `stryker.json` that names what to change, and a vitest configuration whose `include` has the tests of that part:',
  '',
  '```json',
  '{',
  '  "testRunner": "vitest", "plugins": ["@stryker-mutator/vitest-runner"], "vitest": { "configFile": "vitest.money.mjs", "related": false },',
  '  "mutate": ["shared/money/*.ts"], "coverageAnalysis": "perTest", "concurrency": 1, "tsconfigFile": "none.json"',
  '}',
  '```',
  '',
  'Measured with the changes of Stryker, each tried in one process by the tests that reach it, and mostly tried again in a process of its',
  'own when none noticed. Of the larger files every second to eighth change was tried. The long random checks were cut to some tens of',
  'instances, which lowers a score; a test that hangs counts as noticing; a sample has its error. What was looked at of the rest is mostly the same in effect (a guard for what cannot come, a kept result',
  'worked out again, a tie) or, in the search for a plan, changes how fast it finds and not what it claims.',
  '',
  'Of plan, 45 of the 172 were left: 13 guards for what cannot come, 18 that only do more work, or stop later, for the same result, 12 in',
  'the order of the search, which the tests hold to a budget and not to one way, and 2 ties. The 29 left of bounds, flat and',
  'repair-order, the 12 of case and the 5 of learnt are guards, ties, limits that cannot bind and kept results. So read, not proved.',
  '',
];

/** The page: one row a check, then the sources. */
export function asPage(all: readonly Group[]): string {
  const { values, sources } = counts(all);
  const used = [...new Set(all.flatMap(({ checks }) => checks.flatMap(sourcesOf)))]
    .filter((id) => id !== 'practice')
    .sort();
  const lines = [
    '# Held to the outside',
    '',
    `${values} values of ${sources} sources are checked, and ${
      all.flatMap(({ checks }) => checks).filter((check) => knownAs(check) === 'practice').length
    } facts of the trade that have no source. Made by \`npm run outside\` from the tests in this folder;`,
    'a test keeps it current.',
    '',
    'A source without a mark was read in the document or a faithful copy; reported: in a page that reports it; from memory:',
    'not read again; computed: worked out from the rule that the source gives. Where sources differ, the safer value is used',
    'and the bot says that they differ.',
    ...byPart(all).flatMap(({ part, groups: own }) => [
      '',
      `## ${part}`,
      ...own.flatMap(({ heading, checks }) => [
        '',
        `### ${heading}`,
        '',
        row(['check', 'what', 'value', 'source', 'where used']),
        row(['---', '---', '---', '---', '---']),
        ...checks.map((check) =>
          row([check.id, check.what, check.value, sourceWords(check), `\`${check.where}\``]),
        ),
      ]),
    ]),
    ...mutationSection,
    row(['what', 'changes tried', 'first', 'now']),
    row(['---', '---', '---', '---']),
    ...mutation.map(row),
    '',
    '## Sources',
    '',
    row(['id', 'publisher', 'title', 'date', 'known']),
    row(['---', '---', '---', '---', '---']),
    ...used.map((id) => {
      const { publisher, title, date, checked } = sourceOf(id);
      return row([id, publisher, title, date ?? '', checked === 'memory' ? 'from memory' : checked]);
    }),
  ];
  return `${lines.join('\n')}\n`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const all = await readAll();
  if (process.argv.includes('--json')) process.stdout.write(`${JSON.stringify(counts(all))}\n`);
  else writeFileSync(pageFile, asPage(all));
}
