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
  ['Tracing', () => import('./tracing.test.ts')],
  ['Worth', () => import('./worth.test.ts')],
  ['Facts of the trade', () => import('./practice.test.ts')],
  ['Environment', () => import('./environment.test.ts')],
];

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

/**
 * How many of the changes that a mutation tool makes the tests notice, by folder: measured, not aimed at. `before` is the
 * first measurement, null where there was none.
 */
const mutation: readonly (readonly [folder: string, mutants: number, before: string | null, now: string])[] =
  [];

const mutationSection: readonly string[] = [
  '',
  '## Mutation',
  '',
  'Each check can fail. To see it, Stryker (9.6, MIT) changes the code in one place at a time and runs the tests of that folder; the score',
  'is the share of its changes that a test notices, those that no test reaches counted as missed. It is no dependency:',
  'copy the project elsewhere, and there',
  '',
  '```',
  'npm install --no-save @stryker-mutator/core@9 @stryker-mutator/vitest-runner@9',
  'npx stryker run stryker.json',
  '```',
  '',
  'with `stryker.json` naming the runner, a vitest configuration whose `include` has the tests of one folder, and what to change:',
  '',
  '```json',
  '{',
  '  "testRunner": "vitest", "plugins": ["@stryker-mutator/vitest-runner"], "vitest": { "configFile": "vitest.money.mjs" },',
  '  "mutate": ["shared/money/*.ts"], "coverageAnalysis": "perTest", "concurrency": 1, "tsconfigFile": "none.json"',
  '}',
  '```',
  '',
  'Measured with its changes each tried by the tests that reach it, in one process, and those that nothing noticed again in a process',
  'of their own; the long random checks were cut to some tens of instances, so a score can only be too low.',
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
    ...all.flatMap(({ heading, checks }) => [
      '',
      `## ${heading}`,
      '',
      row(['check', 'what', 'value', 'source', 'where used']),
      row(['---', '---', '---', '---', '---']),
      ...checks.map((check) =>
        row([check.id, check.what, check.value, sourceWords(check), `\`${check.where}\``]),
      ),
    ]),
    ...mutationSection,
    row(['folder', 'changes', 'first', 'now']),
    row(['---', '---', '---', '---']),
    ...mutation.map(([folder, mutants, before, now]) =>
      row([`\`${folder}\``, String(mutants), before ?? 'not measured', now]),
    ),
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
