/**
 * Reads the text format for scrapers, written from its published description alone: Prometheus documentation, "Exposition
 * formats" (github.com/prometheus/docs, docs/instrumenting/exposition_formats.md). Throws, with the line, for whatever that
 * does not allow.
 */

interface ReadFamily {
  kind: string;
  help: string | null;
  /** By name and labels as they stand in the text. */
  samples: { name: string; labels: Record<string, string>; value: number }[];
}

const NAME = /^[a-zA-Z_:][a-zA-Z0-9_:]*/;
const LABEL = /^[a-zA-Z_][a-zA-Z0-9_]*/;
const KINDS = ['counter', 'gauge', 'histogram', 'summary', 'untyped'];

/** Floats as Go's ParseFloat takes them, as far as anything here writes them. */
function readFloat(text: string): number {
  if (text === 'NaN') return Number.NaN;
  if (text === '+Inf') return Number.POSITIVE_INFINITY;
  if (text === '-Inf') return Number.NEGATIVE_INFINITY;
  if (!/^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/.test(text)) throw new Error(`no float: ${text}`);
  return Number(text);
}

/** What stands between the quotes at the beginning, and what follows them. */
function readQuoted(text: string): [string, string] {
  if (!text.startsWith('"')) throw new Error(`no quote: ${text}`);
  let made = '';
  for (let i = 1; i < text.length; i += 1) {
    const sign = text[i] ?? '';
    if (sign === '"') return [made, text.slice(i + 1)];
    if (sign !== '\\') {
      made += sign;
      continue;
    }
    i += 1;
    const next = { '\\': '\\', '"': '"', n: '\n' }[text[i] ?? ''];
    if (next === undefined) throw new Error(`no escape: \\${text[i]}`);
    made += next;
  }
  throw new Error(`an open quote: ${text}`);
}

function readLabels(given: string): [Record<string, string>, string] {
  const labels: Record<string, string> = {};
  if (!given.startsWith('{')) return [labels, given];
  let text = given.slice(1).trimStart();
  while (!text.startsWith('}')) {
    const [name = ''] = LABEL.exec(text) ?? [];
    if (!name || name in labels) throw new Error(`label: ${text}`);
    text = text.slice(name.length).trimStart();
    if (!text.startsWith('=')) throw new Error(`no =: ${text}`);
    const [value, after] = readQuoted(text.slice(1).trimStart());
    labels[name] = value;
    text = after.trimStart();
    if (text.startsWith(',')) text = text.slice(1).trimStart();
    else if (!text.startsWith('}')) throw new Error(`neither , nor }: ${text}`);
  }
  return [labels, text.slice(1)];
}

/** The family of a sample: of a histogram's or summary's parts, the one without the ending. */
function familyOf(name: string, families: ReadonlyMap<string, ReadFamily>): string {
  const base = name.replace(/_(bucket|sum|count)$/, '');
  const kind = families.get(base)?.kind;
  return base !== name && (kind === 'histogram' || (kind === 'summary' && !name.endsWith('_bucket')))
    ? base
    : name;
}

function checkHistogram(name: string, { samples }: ReadFamily): void {
  const buckets = samples.filter((one) => one.name === `${name}_bucket`);
  const bounds = buckets.map(({ labels }) => readFloat(labels.le ?? 'none'));
  if (bounds.some((bound, i) => i > 0 && bound <= (bounds[i - 1] ?? 0)))
    throw new Error(`${name}: order of buckets`);
  if (buckets.some(({ value }, i) => i > 0 && value < (buckets[i - 1]?.value ?? 0)))
    throw new Error(`${name}: buckets that are not cumulative`);
  const count = samples.find((one) => one.name === `${name}_count`)?.value;
  if (bounds.at(-1) !== Number.POSITIVE_INFINITY || buckets.at(-1)?.value !== count)
    throw new Error(`${name}: +Inf is not the count`);
  if (!samples.some((one) => one.name === `${name}_sum`)) throw new Error(`${name}: no sum`);
}

export function readExposition(text: string): Map<string, ReadFamily> {
  if (!text.endsWith('\n')) throw new Error('the last line does not end with a line feed');
  const families = new Map<string, ReadFamily>();
  const seen = new Set<string>();
  let current = '';
  const enter = (name: string): ReadFamily => {
    const known = families.get(name);
    // All lines of a metric are one group.
    if (known && name !== current) throw new Error(`${name} comes in two groups`);
    current = name;
    const family = known ?? { kind: 'untyped', help: null, samples: [] };
    families.set(name, family);
    return family;
  };
  const typed = new Set<string>();
  for (const line of text
    .slice(0, -1)
    .split('\n')
    .map((one) => one.trim())) {
    if (line === '') continue;
    const [, word, name = '', rest = ''] = /^#\s*(HELP|TYPE)\s+(\S+)\s*(.*)$/.exec(line) ?? [];
    if (line.startsWith('#') && word === undefined) continue;
    if (word !== undefined) {
      if (NAME.exec(name)?.[0] !== name) throw new Error(`name: ${line}`);
      const family = enter(name);
      if (word === 'HELP') {
        if (family.help !== null || rest.replace(/\\[\\n]/g, '').includes('\\'))
          throw new Error(`help: ${line}`);
        family.help = rest;
      } else {
        if (typed.has(name) || family.samples.length || !KINDS.includes(rest))
          throw new Error(`type: ${line}`);
        typed.add(name);
        family.kind = rest;
      }
      continue;
    }
    const [sample = ''] = NAME.exec(line) ?? [];
    if (!sample) throw new Error(`sample: ${line}`);
    const [labels, after] = readLabels(line.slice(sample.length).trimStart());
    const [value = '', timestamp, ...more] = after.trim().split(/\s+/);
    if (more.length || (timestamp !== undefined && !/^-?\d+$/.test(timestamp)))
      throw new Error(`end: ${line}`);
    const id = `${sample} ${JSON.stringify(Object.entries(labels).sort())}`;
    if (seen.has(id)) throw new Error(`twice: ${line}`);
    seen.add(id);
    enter(familyOf(sample, families)).samples.push({ name: sample, labels, value: readFloat(value) });
  }
  for (const [name, family] of families) if (family.kind === 'histogram') checkHistogram(name, family);
  return families;
}
