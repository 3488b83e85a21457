/** Checks across the files of a pack: what each file's own schema cannot see. */
import type { Finding } from './locate.ts';
import type { ListFile, PackEntry } from './pack-entry.ts';
import type { Pack } from './read-pack.ts';
import { type Caution, type Check, type Family, type Hazard, services, type When } from './schema.ts';
import { factProblems, type Step, stepProblems } from './text-hazards.ts';
import { checkTranslations, englishOf } from './translation.ts';

/** The file that these checks run from: a pack that passed an older one is checked anew. */
export const checksFile = import.meta.filename;

/** Rows of likelihoods sum to 1 within this. */
const SUM_TOLERANCE = 1e-9;
/** In `when`, a fact and no symptom. */
const WET = 'wet';
const LOCAL_CODES = 'Local codes and licensed practice come first';
const NEEDED_COMPONENTS = ['mainboard', 'battery', 'display-assembly'];
const PLACEHOLDERS = new Set([...services.map((service) => `{${service}}`), '{dispose}']);

type Say = (entry: PackEntry<{ id: string }>, path: readonly PropertyKey[], problem: string) => void;
type Conditions = { with?: string[] | undefined; without?: string[] | undefined };
type Path = readonly PropertyKey[];

const sayTo =
  (findings: Finding[]): Say =>
  ({ file, index, value }, path, problem) => {
    findings.push({ file, path: [index, ...path], problem: `${value.id}: ${problem}` });
  };

const quoted = (names: readonly string[]): string => names.map((name) => `"${name}"`).join(', ');

const fits = (family: Family, { with: all = [], without: none = [] }: Conditions): boolean =>
  all.every((feature) => family.features.includes(feature)) &&
  !none.some((feature) => family.features.includes(feature));

/** Calls `visit` for each text and each object within a value; `path` is only good during the call. */
function walk(value: unknown, visit: (value: unknown, path: Path) => void, path: PropertyKey[] = []): void {
  if (typeof value === 'string') visit(value, path);
  if (value === null || typeof value !== 'object') return;
  visit(value, path);
  if (Array.isArray(value) && typeof value[0] === 'number') return;
  for (const [key, inner] of Object.entries(value)) {
    if (typeof inner === 'number') continue;
    path.push(key);
    walk(inner, visit, path);
    path.pop();
  }
}

const sourceIn = (value: unknown): string | undefined =>
  value !== null && typeof value === 'object' && 'source' in value && typeof value.source === 'string'
    ? value.source
    : undefined;

type Any = PackEntry<{ id: string }>;

/** Ids that entries use of others; each that is not there is told of. */
function idsIn({ entries, broken }: Pack, say: Say) {
  const unread = (file: ListFile) => entries[file].size === 0 && broken.get(file)?.size;
  const wanted = (entry: Any, path: Path, id: string, files: readonly ListFile[]) => {
    if (files.some((file) => entries[file].has(id) || broken.get(file)?.has(id) || unread(file))) return;
    say(entry, path, `no ${files.join(', ')} has the id "${id}"`);
  };
  const each = (entry: Any, path: Path, ids: readonly string[] | undefined, ...files: ListFile[]) => {
    for (const [index, id] of ids?.entries() ?? []) wanted(entry, [...path, index], id, files);
  };
  const keys = (entry: Any, path: Path, record: object | undefined, file: ListFile) => {
    for (const id of Object.keys(record ?? {})) wanted(entry, [...path, id], id, [file]);
  };
  const conditions = (entry: PackEntry<{ id: string } & Conditions>) => {
    each(entry, ['with'], entry.value.with, 'features');
    each(entry, ['without'], entry.value.without, 'features');
  };

  const state = (entry: Any, when: When | undefined) => {
    each(entry, ['when', 'open'], when?.open, 'symptoms');
    for (const [index, id] of when?.not?.entries() ?? [])
      if (id !== WET) wanted(entry, ['when', 'not', index], id, ['symptoms']);
  };

  return { wanted, each, keys, conditions, state };
}

/** Families, pairing, functions and lessons. */
function idsOfBuild({ entries }: Pack, { wanted, each, keys, conditions }: ReturnType<typeof idsIn>): void {
  for (const entry of entries.families.values()) {
    each(entry, ['features'], entry.value.features, 'features');
    keys(entry, ['components'], entry.value.components, 'components');
  }
  for (const entry of entries.pairing.values()) {
    wanted(entry, ['component'], entry.value.component, ['components']);
    each(entry, ['when'], entry.value.when, 'features');
  }
  for (const entry of entries.functions.values()) {
    conditions(entry);
    each(entry, ['components'], entry.value.components, 'components');
  }
  for (const entry of entries.lessons.values()) {
    each(
      entry,
      ['about'],
      entry.value.about,
      'components',
      'features',
      'symptoms',
      'checks',
      'remedies',
      'faults',
    );
  }
}

/** Symptoms, faults and remedies. */
function idsOfFaults(
  { entries }: Pack,
  { wanted, each, keys, conditions, state }: ReturnType<typeof idsIn>,
): void {
  for (const entry of entries.symptoms.values()) {
    conditions(entry);
    keys(entry, ['seen', 'faults'], entry.value.seen.faults, 'faults');
    state(entry, entry.value.when);
    each(entry, ['first'], entry.value.first, 'checks');
    if (entry.value.damage !== undefined) wanted(entry, ['damage'], entry.value.damage, ['components']);
  }
  for (const entry of entries.faults.values()) {
    conditions(entry);
    wanted(entry, ['component'], entry.value.component, ['components']);
    keys(entry, ['times'], entry.value.times, 'features');
  }
  for (const entry of entries.remedies.values()) {
    conditions(entry);
    keys(entry, ['works'], entry.value.works, 'faults');
    entry.value.parts.forEach(({ component }, index) => {
      wanted(entry, ['parts', index, 'component'], component, ['components']);
    });
  }
}

/** Checks. */
function idsOfChecks(
  { entries }: Pack,
  { wanted, each, keys, conditions, state }: ReturnType<typeof idsIn>,
): void {
  for (const entry of entries.checks.values()) {
    conditions(entry);
    state(entry, entry.value.when);
    keys(entry, ['given', 'faults'], entry.value.given.faults, 'faults');
    keys(entry, ['given', 'dead', 'faults'], entry.value.given.dead?.faults, 'faults');
    each(entry, ['masks'], entry.value.masks, 'faults');
    entry.value.outcomes.forEach(({ clears }, index) => {
      each(entry, ['outcomes', index, 'clears'], clears, 'symptoms');
    });
    if (entry.value.substitutes) {
      wanted(entry, ['substitutes', 'component'], entry.value.substitutes.component, ['components']);
      each(entry, ['substitutes', 'shows'], entry.value.substitutes.shows, 'symptoms');
    }
    entry.value.outcomes.forEach(({ bars }, index) => {
      each(entry, ['outcomes', index, 'bars'], bars, 'remedies');
    });
  }
}

/** Every id that one entry uses of another must be there. */
function unknownIds(pack: Pack, say: Say): void {
  const ids = idsIn(pack, say);
  idsOfBuild(pack, ids);
  idsOfFaults(pack, ids);
  idsOfChecks(pack, ids);
}

/** Unknown and unused sources. Only sources of the last folder must be used: a folder above may replace what used them. */
function sources(pack: Pack, say: Say, findings: Finding[]): void {
  const used = new Set<string>();
  const known = (id: string) => pack.entries.sources.has(id) || pack.broken.get('sources')?.has(id);
  for (const list of Object.values(pack.entries)) {
    for (const entry of list.values()) {
      walk(entry.value, (value, path) => {
        const id = path.at(-1) === 'ground' ? sourceIn(value) : undefined;
        if (id === undefined) return;
        used.add(id);
        if (!known(id)) say(entry, [...path, 'source'], `no sources has the id "${id}"`);
      });
    }
  }
  for (const [region, numbers] of Object.entries(pack.regions.emergency)) {
    for (const [service, { ground }] of Object.entries(numbers)) {
      const id = sourceIn(ground);
      if (id === undefined) continue;
      used.add(id);
      if (!known(id)) {
        const path = ['emergency', region, service, 'ground'];
        findings.push({ file: pack.fileOf('regions'), path, problem: `no sources has the id "${id}"` });
      }
    }
  }
  if (![...pack.broken.values()].every((ids) => ids.size === 0)) return;
  for (const entry of pack.entries.sources.values())
    if (entry.top && !used.has(entry.value.id)) say(entry, ['id'], 'a source that nothing cites');
}

const same = (a: readonly number[], b: readonly number[]): boolean =>
  a.length === b.length && a.every((chance, index) => Math.abs(chance - (b[index] ?? 0)) <= SUM_TOLERANCE);

function rowsAndBands(entry: PackEntry<Check>, say: Say): void {
  const { outcomes, given, unit } = entry.value;
  const rows: (readonly [Path, readonly number[]])[] = [
    [['given', 'otherwise'], given.otherwise],
    ...Object.entries(given.faults).map(([fault, row]) => [['given', 'faults', fault], row] as const),
  ];
  for (const [path, row] of rows) {
    const name = path.at(-1);
    const sum = row.reduce((total, chance) => total + chance, 0);
    if (row.length !== outcomes.length)
      say(entry, path, `${String(name)} has ${row.length} chances for ${outcomes.length} outcomes`);
    else if (Math.abs(sum - 1) > SUM_TOLERANCE)
      say(entry, path, `the chances of ${String(name)} add up to ${Number(sum.toFixed(9))}, not 1`);
  }
  const ids = outcomes.map(({ id }) => id);
  ids.forEach((id, index) => {
    if (ids.indexOf(id) !== index) say(entry, ['outcomes', index, 'id'], `outcome ${id} is there twice`);
  });
  const banded = outcomes.flatMap(({ id, band }, index) => (band ? [{ id, index, ...band }] : []));
  if (banded.length && !unit) say(entry, ['outcomes'], 'bands without a unit');
  if (unit && !banded.length) say(entry, ['unit'], 'a unit without a band');
  for (const { id, index, from, to } of banded) {
    if (from >= to) say(entry, ['outcomes', index, 'band'], `band of ${id}: ${from} is not below ${to}`);
    for (const other of banded.slice(
      0,
      banded.findIndex((one) => one.index === index),
    )) {
      if (from < other.to && other.from < to)
        say(entry, ['outcomes', index, 'band'], `the bands of ${other.id} and ${id} overlap`);
    }
  }
}

/** In some family where the check can be done, two faults that can be there must give different chances. */
function tellsApart(pack: Pack, check: Check): boolean {
  for (const { value: family } of pack.entries.families.values()) {
    if (!fits(family, check)) continue;
    let first: readonly number[] | undefined;
    for (const { value: fault } of pack.entries.faults.values()) {
      const has = fault.component in family.components || !pack.entries.components.has(fault.component);
      if (!has || !fits(family, fault)) continue;
      const row = check.given.faults[fault.id] ?? check.given.otherwise;
      first ??= row;
      if (!same(first, row)) return true;
    }
  }
  return false;
}

function hazardousSteps(pack: Pack, say: Say): void {
  const fired = new Set<string>([...pack.entries.cautions.values()].flatMap(({ value }) => value.firesOn));
  const unwarned = (entry: PackEntry<{ id: string }>, path: Path, hazards: readonly string[]) => {
    hazards.forEach((hazard, index) => {
      if (!fired.has(hazard))
        say(entry, [...path, index], `hazard "${hazard}" has no caution that fires on it`);
    });
  };
  for (const entry of pack.entries.families.values()) {
    for (const step of ['open', 'board', 'close'] as const)
      unwarned(entry, [step, 'hazards'], entry.value[step].hazards);
  }
  for (const list of [
    pack.entries.checks,
    pack.entries.remedies,
    pack.entries.functions,
    pack.entries.symptoms,
  ])
    for (const entry of list.values()) unwarned(entry, ['hazards'], entry.value.hazards);
}

/** What the words of steps, symptoms and outcomes demand, they declare. */
function textsAndHazards(pack: Pack, say: Say): void {
  const { entries } = pack;
  const step = (entry: PackEntry<{ id: string }>, path: Path, one: Step) => {
    for (const problem of stepProblems(one)) say(entry, [...path, 'hazards'], problem);
  };
  for (const entry of entries.families.values()) {
    const { open, board, close } = entry.value;
    step(entry, ['open'], { ...open, texts: [...open.steps, ...open.tools] });
    step(entry, ['board'], { ...board, texts: board.steps });
    step(entry, ['close'], { ...close, texts: [close.note] });
  }
  for (const entry of entries.checks.values()) {
    const { name, ask, outcomes } = entry.value;
    step(entry, [], { ...entry.value, texts: [name, ask] });
    outcomes.forEach(({ says, means, mentions }, index) => {
      for (const problem of factProblems([says], means, mentions))
        say(entry, ['outcomes', index, 'says'], problem);
    });
  }
  for (const entry of entries.remedies.values())
    step(entry, [], { ...entry.value, texts: [entry.value.name, ...entry.value.steps] });
  for (const entry of entries.functions.values()) {
    const { name, how } = entry.value;
    step(entry, [], { ...entry.value, texts: [name, how], poweredByRule: true });
  }
  for (const entry of entries.symptoms.values()) {
    const { name, alias, means, mentions } = entry.value;
    for (const problem of factProblems([name, ...alias], means, mentions)) say(entry, ['name'], problem);
  }
}

/** Hazards that can set a cell on fire: their cautions say whom to call for that, and where such a cell goes. */
const AT_THE_CELL = new Set<Hazard>([
  'charges',
  'presses',
  'heats',
  'pries',
  'punctures',
  'solders',
  'live-supply',
  'wet',
  'unsafe-cell',
  'cuts',
  'laser',
  'freezes',
]);
/** Hazards that can cost life or sight at the first mistake. */
const GRAVE = new Set<Hazard>(['pries', 'punctures', 'unsafe-cell', 'laser']);
const someSays = (statements: Caution['do'], mark: string): boolean =>
  statements.some(({ says }) => says.includes(mark));

/** What is not cleared stays in full: its caution is never shortened. */
const NEVER_SHORT = new Set<Hazard>(['unsafe-cell', 'wet']);

/** What every caution needs: where, whose, what, and whether a caution has it. */
const cautionNeeds: readonly {
  path: keyof Caution;
  of: (caution: Caution) => boolean;
  needs: string;
  holds: (caution: Caution) => boolean;
}[] = [
  {
    path: 'do',
    of: () => true,
    needs: `"${LOCAL_CODES}" at the beginning`,
    holds: (caution) => caution.do[0]?.says.startsWith(LOCAL_CODES) ?? false,
  },
  {
    path: 'lead',
    of: () => true,
    needs: `no "${LOCAL_CODES}": that stands over all cards`,
    holds: ({ lead }) => !lead.includes(LOCAL_CODES),
  },
  {
    path: 'getHelp',
    of: () => true,
    needs: `whom to call: ${services.map((service) => `{${service}}`).join(' or ')}`,
    holds: ({ getHelp }) => services.some((service) => someSays(getHelp, `{${service}}`)),
  },
  {
    path: 'getHelp',
    of: ({ firesOn }) => firesOn.some((hazard) => AT_THE_CELL.has(hazard)),
    needs: '{fire}, since a cell may burn',
    holds: ({ getHelp }) => someSays(getHelp, '{fire}'),
  },
  {
    path: 'dispose',
    of: ({ firesOn }) => firesOn.some((hazard) => AT_THE_CELL.has(hazard)),
    needs: '{dispose}, where the cell goes',
    holds: ({ dispose }) => someSays(dispose, '{dispose}'),
  },
  {
    path: 'short',
    of: () => true,
    needs: 'one line with "stop" for repeats, or "neverShort: true" in its place',
    holds: ({ short, neverShort }) => (neverShort ? short === undefined : /\bstop\b/i.test(short ?? '')),
  },
  {
    path: 'short',
    of: ({ firesOn }) => firesOn.some((hazard) => NEVER_SHORT.has(hazard)),
    needs: '"neverShort: true"',
    holds: ({ neverShort }) => neverShort,
  },
  {
    path: 'tone',
    of: ({ firesOn }) => firesOn.some((hazard) => GRAVE.has(hazard)),
    needs: 'the tone "danger"',
    holds: ({ tone }) => tone === 'danger',
  },
];

function cautionTexts(pack: Pack, say: Say): void {
  for (const entry of pack.entries.cautions.values()) {
    walk(entry.value, (value, path) => {
      if (typeof value !== 'string') return;
      for (const [mark] of value.matchAll(/\{[^}]*\}/g))
        if (!PLACEHOLDERS.has(mark)) say(entry, path, `${mark} is none of ${[...PLACEHOLDERS].join(', ')}`);
    });
    for (const { path, of, needs, holds } of cautionNeeds)
      if (of(entry.value) && !holds(entry.value)) say(entry, [path], `${path} needs ${needs}`);
  }
}

/** Names are looked up without regard to case, hyphens and spaces; one name must find one thing. */
function namesTwice<T extends { id: string; name: string }>(
  list: ReadonlyMap<string, PackEntry<T>>,
  aliases: (value: T) => readonly string[],
  say: Say,
): void {
  const taken = new Map<string, string>();
  for (const entry of list.values()) {
    const { id, name } = entry.value;
    for (const one of [id, name, ...aliases(entry.value)]) {
      const key = one
        .toLowerCase()
        .replace(/[\s_-]+/g, ' ')
        .trim();
      const other = taken.get(key);
      if (other !== undefined && other !== id) say(entry, ['id'], `"${one}" is also a name of ${other}`);
      taken.set(key, other ?? id);
    }
  }
}

/** `findings` are wrong; `notes` are allowed but worth knowing. */
export function checkPack(pack: Pack): { findings: Finding[]; notes: Finding[] } {
  const findings: Finding[] = [];
  const notes: Finding[] = [];
  const say = sayTo(findings);
  const note = sayTo(notes);
  const { entries } = pack;
  /** A check for what is missing means nothing while entries of those files could not be read. */
  const whole = (...files: ListFile[]) => files.every((file) => !pack.broken.get(file)?.size);

  unknownIds(pack, say);
  sources(pack, say, findings);
  for (const entry of entries.checks.values()) {
    rowsAndBands(entry, say);
    if (whole('families', 'faults') && !tellsApart(pack, entry.value))
      say(entry, ['given'], 'its outcomes cannot tell any two faults apart');
  }
  for (const entry of entries.families.values()) {
    const lacks = NEEDED_COMPONENTS.filter((id) => !(id in entry.value.components));
    if (lacks.length) say(entry, ['components'], `lacks ${quoted(lacks)}`);
  }
  for (const entry of entries.remedies.values()) {
    if (!Object.values(entry.value.works).some((chance) => chance > 0))
      say(entry, ['works'], 'a remedy for no fault');
  }
  for (const entry of entries.laws.values()) {
    const { from, until } = entry.value;
    if (from !== null && until !== null && from > until) say(entry, ['until'], `ends before ${from}`);
  }
  for (const entry of entries.factors.values()) {
    const { low, high, per, years } = entry.value;
    if (low > high) say(entry, ['high'], `${high} is below ${low}`);
    if ((per === 'life') !== (years !== undefined))
      say(entry, ['years'], per === 'life' ? 'a whole life needs its years' : 'only a whole life has years');
  }
  const symptoms = [...entries.symptoms.values()];
  const remedies = [...entries.remedies.values()];
  for (const entry of whole('symptoms', 'remedies') ? entries.faults.values() : []) {
    const { id } = entry.value;
    if (!symptoms.some(({ value }) => (value.seen.faults[id] ?? 0) > 0))
      say(entry, ['id'], 'no symptom shows this fault');
    if (!remedies.some(({ value }) => (value.works[id] ?? 0) > 0))
      note(entry, ['id'], 'no remedy mends this fault');
  }
  const families = [...entries.families.values()];
  for (const list of whole('families')
    ? [entries.symptoms, entries.faults, entries.checks, entries.remedies]
    : []) {
    for (const entry of list.values())
      if (!families.some(({ value }) => fits(value, entry.value))) note(entry, ['id'], 'fits no family');
  }
  if (whole('cautions')) hazardousSteps(pack, say);
  textsAndHazards(pack, say);
  cautionTexts(pack, say);
  findings.push(
    ...checkTranslations(pack.languages, {
      english: englishOf(entries),
      dispose: pack.regions.dispose,
      disposeFrom: pack.disposeFrom,
      whole,
    }),
  );
  namesTwice(entries.symptoms, ({ alias }) => alias, say);
  namesTwice(entries.cautions, ({ alias }) => alias, say);
  namesTwice(entries.components, ({ plain }) => plain, say);
  namesTwice(entries.families, () => [], say);
  return { findings, notes };
}
