/** What was said to the bot while it was killed again and again, and what of it must be in the store. */
import { copyFileSync, existsSync, mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { z } from 'zod';
import { loadKnowledge } from '../../knowledge/load.ts';
import { check } from '../../src/self-check.ts';
import { openSealedStore } from '../../src/store/sealed-store.ts';

/** A change that carries a number of its own, by which it is found in the store. */
const plainKinds = ['price', 'log', 'swap', 'note', 'open', 'shelf', 'order', 'wait', 'sell'] as const;
/** These change something that was there before: each change another of a stock. */
export const stockKinds = ['take', 'returned', 'photo', 'wipe', 'restore'] as const;
export const changeKinds = [...plainKinds, ...stockKinds] as const;
type StockKind = (typeof stockKinds)[number];
/** The numbers, or for models the places in their names, of what is in stock for each kind. */
export type Stock = Readonly<Record<StockKind, number[]>>;
export type ChangeKind = (typeof changeKinds)[number];
export interface Change {
  kind: ChangeKind;
  /** Unique within a run; from 1000. Of what was in stock: what it was of. */
  tag: number;
  /** An answer that says it was done has been seen. */
  acknowledged: boolean;
  /** It was sent again, under the same request id, until it was answered. */
  repeated: boolean;
}

export const MODEL = 'Orrin K3';
export const FAMILY = 'glued-front-home-sensor';

/** A command and its options, for Discord as they are and for a typed line. */
export function wordsFor(kind: ChangeKind, tag: number): [string, string, Record<string, string | number>] {
  switch (kind) {
    case 'price':
      return ['prices', 'add', { what: MODEL, price: String(tag), sure: 'yes' }];
    case 'log':
      return ['job', 'log', { text: `tag-${tag}`, job: 1 }];
    case 'swap':
      return [
        'swap',
        'report',
        { component: 'battery', effect: 'notice', of: MODEL, grade: 'used', saw: `tag-${tag}` },
      ];
    case 'note':
      return ['note', 'add', { text: `tag-${tag}` }];
    case 'open':
      return ['job', 'open', { model: MODEL, came: 'bought', price: String(tag) }];
    case 'shelf':
      return ['shelf', 'add', { ...PART, place: `tag-${tag}` }];
    case 'order':
      return ['shelf', 'add', { ...PART, from: `tag-${tag}`, due: `${new Date().getUTCFullYear() + 2}-01` }];
    case 'wait':
      return ['job', 'wait', { for: 'part', note: `tag-${tag}`, job: 1 }];
    case 'sell':
      return ['job', 'sell', { price: String(tag), job: 1 }];
    case 'take':
      return ['shelf', 'take', { part: tag, job: 1 }];
    case 'returned':
      return ['job', 'returned', { job: tag, failed: 'battery' }];
    case 'photo':
      return ['job', 'photo', { job: tag, when: 'step' }];
    case 'wipe':
      return ['job', 'wipe', { entry: tag, job: WIPED_JOB }];
    case 'restore':
      return ['family', 'restore', { model: restoredModel(tag) }];
  }
}

const PART = { component: 'battery', of: MODEL, grade: 'copy', price: '14' } as const;
/** The job of which entries are wiped. */
export const WIPED_JOB = 2;
export const restoredModel = (place: number): string => `Restored ${place}`;

export function lineFor(kind: ChangeKind, tag: number, photo = ''): string {
  const [command, action, options] = wordsFor(kind, tag);
  const given = Object.entries(options).map(([name, value]) =>
    typeof value === 'number' ? `${name}:${value}` : `${name}:"${value}"`,
  );
  return `/${command} ${action} ${given.join(' ')}${kind === 'photo' ? ` file:"${photo}"` : ''}`;
}

const countRow = z.object({ tag: z.number(), n: z.number() });
const entryTag = (column: string) => `CAST(substr(${column}, instr(${column}, 'tag-') + 4, 8) AS INTEGER)`;
const tagged = `SELECT ${entryTag('entry')} AS tag, count(*) AS n FROM job_entries WHERE entry LIKE '%tag-%' GROUP BY 1`;
const counts: Readonly<Record<Exclude<ChangeKind, 'note'>, string>> = {
  price: 'SELECT price / 100 AS tag, count(*) AS n FROM sightings GROUP BY 1',
  log: tagged,
  wait: tagged,
  swap: `SELECT ${entryTag('saw')} AS tag, count(*) AS n FROM swaps WHERE saw LIKE 'tag-%' GROUP BY 1`,
  open: 'SELECT price / 100 AS tag, count(*) AS n FROM jobs WHERE price > 0 GROUP BY 1',
  shelf: `SELECT ${entryTag('place')} AS tag, count(*) AS n FROM shelf WHERE place LIKE 'tag-%' GROUP BY 1`,
  order: `SELECT ${entryTag('supplier')} AS tag, count(*) AS n FROM shelf WHERE supplier LIKE 'tag-%' GROUP BY 1`,
  sell: `SELECT json_extract(entry, '$.asked.minor') / 100 AS tag, count(*) AS n FROM job_entries
    WHERE json_extract(entry, '$.kind') = 'listed' GROUP BY 1`,
  take: `SELECT part AS tag, count(*) AS n FROM shelf_moves
    WHERE json_extract(move, '$.kind') = 'taken' GROUP BY 1`,
  returned: `SELECT job AS tag, count(*) AS n FROM job_entries
    WHERE json_extract(entry, '$.kind') = 'came-back' GROUP BY 1`,
  photo: 'SELECT job AS tag, count(*) AS n FROM photos GROUP BY 1',
  wipe: `SELECT seq AS tag, count(*) AS n FROM job_entries WHERE job = ${WIPED_JOB} AND wiped_at IS NOT NULL GROUP BY 1`,
  restore: `SELECT CAST(substr(models.name, 10) AS INTEGER) AS tag, count(*) - 1 AS n FROM model_versions
    JOIN models ON models.id = model_versions.model WHERE models.name LIKE 'Restored %' GROUP BY 1`,
};
const integrityRow = z.array(z.object({ integrity_check: z.string() }));

export interface Looked {
  problems: string[];
  /** How often each tag stands in the store. */
  found: Map<string, number>;
}
const keyOf = (kind: ChangeKind, tag: number): string => `${kind} ${tag}`;

const knowledge = loadKnowledge();

/**
 * Looks at the files as they lie there, in a copy: what has to be made good after a kill is still left to the next start.
 * SQLite's own check, ours, and every tag.
 */
export async function look(data: string, scratch: string): Promise<Looked> {
  rmSync(scratch, { recursive: true, force: true });
  mkdirSync(scratch, { recursive: true, mode: 0o700 });
  for (const name of ['thirdhand.sqlite', 'thirdhand.sqlite-wal', 'key'])
    if (existsSync(join(data, name))) copyFileSync(join(data, name), join(scratch, name));
  const problems: string[] = [];
  const found = new Map<string, number>();
  const raw = new Sqlite(join(scratch, 'thirdhand.sqlite'));
  try {
    const said = integrityRow.parse(raw.pragma('integrity_check'));
    for (const { integrity_check: line } of said)
      if (line !== 'ok') problems.push(`integrity_check: ${line}`);
    for (const kind of changeKinds) {
      if (kind === 'note') continue;
      for (const { tag, n } of z.array(countRow).parse(raw.prepare(counts[kind]).all()))
        found.set(keyOf(kind, tag), n);
    }
  } finally {
    raw.close();
  }
  const { database } = openSealedStore({ data: scratch, makeKey: false });
  try {
    const { sound, lines } = await check({ data: scratch }, knowledge, {});
    if (!sound) problems.push(`--check: ${lines.join(' ')}`);
    for (const collective of database.collectives.list()) {
      const store = database.of(collective);
      for (const person of store.people.list())
        for (const { text } of store.notes.list(person.key)) {
          const key = keyOf('note', Number(/^tag-(\d+)$/.exec(text ?? '')?.[1]));
          found.set(key, (found.get(key) ?? 0) + 1);
        }
    }
  } finally {
    database.close();
  }
  return { problems, found };
}

export interface Judged {
  /** Acknowledged, and not there. */
  lost: string[];
  /** There more than once. */
  twice: string[];
  /** There, though nobody was told: killed between the commit and the answer. */
  unheard: number;
}

export function judge(changes: readonly Change[], { found }: Looked): Judged {
  const of = (change: Change) => found.get(keyOf(change.kind, change.tag)) ?? 0;
  const named = ({ kind, tag }: Change) => keyOf(kind, tag);
  return {
    lost: changes.filter((one) => one.acknowledged && of(one) === 0).map(named),
    twice: changes.filter((one) => of(one) > 1).map(named),
    unheard: changes.filter((one) => !one.acknowledged && of(one) === 1).length,
  };
}
