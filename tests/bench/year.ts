/** A generated year of a busy collective, and what each command takes in it beside an empty one. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family } from '../../knowledge/schema.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import { packWeights } from '../../shared/diagnosis/family-facts.ts';
import { functionsOf } from '../../shared/jobs/functions.ts';
import { money } from '../../shared/money/money.ts';
import { type Database, openDatabase } from '../../shared/store/index.ts';
import { actor } from '../actors.ts';
import { seeded } from '../diagnosis/random-problem.ts';
import { testSealer } from '../sealer.ts';

export interface YearSize {
  jobs: number;
  sightings: number;
  members: number;
  /** How long it is, in days; 365 when not given. */
  days?: number;
  /** So many of the newest jobs are open; one of 20 when not given. */
  open?: number;
}
export const BUSY_YEAR: YearSize = { jobs: 2000, sightings: 20_000, members: 40 };

const DAY_MS = 24 * 3600 * 1000;
const names = [
  'Orrin K3',
  'Vesper Loam',
  'Tarn 8',
  'Halden Fold',
  'Moro Slate',
  'Pell 2',
  'Quill S',
  'Yarrow 9',
];

/** Fills a collective with a year that ends at `now`: 19 of 20 jobs closed, all by a fixed seed. */
export function fillYear(
  database: Database,
  collective: Collective,
  knowledge: Knowledge,
  now: Date,
  { jobs, sightings, members, days = 365, open }: YearSize,
): void {
  const random = seeded(7);
  const pick = <T>(list: readonly T[]): T => {
    const found = list[Math.floor(random() * list.length)];
    if (found === undefined) throw new Error('nothing to pick from');
    return found;
  };
  const families: Family[] = [...knowledge.families.values()].slice(0, names.length);
  const currency = collective.settings.currency;
  database.transaction(() => {
    const store = database.of(collective);
    const people = Array.from({ length: members }, (_, i) => ({ key: `terminal:M${i}`, name: `M${i}` }));
    for (const { key, name } of people) store.people.meet(key, name, now);
    const models = names.map((name, i) =>
      store.models.save({
        name,
        family: families[i]?.id ?? '',
        launched: `${2016 + i}-03-01`,
        newPrice: money(40_000 + 9000 * i, currency),
        by: actor('M0'),
        at: now,
      }),
    );
    for (let i = 0; i < sightings; i += 1) {
      const person = pick(people);
      const seen = new Date(now.getTime() - random() * days * DAY_MS);
      const part = i % 4 === 0;
      const model = pick(models);
      const component = part ? 'battery' : null;
      store.sightings.add({
        kind: part ? 'part' : 'phone',
        model: model.id,
        component,
        partGrade: part ? pick(['original', 'copy']) : null,
        grade: part ? null : pick([-1, 0, 1]),
        storage: null,
        price: money(Math.round((part ? 2000 : 12_000) * (0.7 + 0.6 * random())), currency),
        how: pick(['sold', 'asked']),
        seen: seen.toISOString().slice(0, 10),
        note: '',
        by: { key: person.key, name: person.name },
        at: seen,
      });
    }
    for (let i = 0; i < jobs; i += 1) {
      const person = pick(people);
      const model = pick(models);
      const family = families.find(({ id }) => id === model.family);
      if (!family) continue;
      const at = new Date(now.getTime() - days * DAY_MS + (i / jobs) * (days - 5) * DAY_MS);
      const none = money(0, currency);
      const fault = pick(packWeights(knowledge, family)).fault.id;
      const job = store.jobs.open({
        model: model.id,
        family: family.id,
        came: 'given',
        price: none,
        grade: 0,
        symptoms: ['dead'],
        imei: null,
        promise: {
          verdict: 'restore',
          mean: money(4000, currency),
          low: none,
          high: money(9000, currency),
          minutes: 60,
          chanceRestored: 0.7,
          odds: { [fault]: 0.2 },
        },
        openedBy: { key: person.key, name: person.name },
        at,
      });
      const hand = { by: { key: person.key, name: person.name }, at };
      store.jobs.add(
        job.number,
        [
          { kind: 'answer', question: 'ownership', answer: 'shown', note: '' },
          { kind: 'answer', question: 'lock', answer: 'free', note: '' },
          { kind: 'answer', question: 'stolen', answer: 'clear', note: '' },
          { kind: 'answer', question: 'data', answer: 'purge', note: '' },
          { kind: 'minutes', minutes: 30 + Math.floor(random() * 60) },
          { kind: 'fitted', component: 'battery', grade: 'copy' },
          {
            kind: 'money',
            way: 'out',
            amount: money(1400, currency),
            purpose: 'part',
            component: 'battery',
            grade: 'copy',
          },
          ...functionsOf(knowledge, family).map(({ id }) => ({
            kind: 'test' as const,
            function: id,
            result: 'pass' as const,
            reason: '',
          })),
        ],
        hand,
      );
      if (open === undefined ? i % 20 === 0 : i >= jobs - open) continue;
      const taught = { faults: [[fault, 1] as [string, number]], outcomes: [] };
      store.jobs.end(
        job.number,
        pick(['restored', 'restored', 'stripped', 'passed']),
        new Date(at.getTime() + 5 * DAY_MS),
        {
          realised: money(Math.round(9000 + 8000 * random()), currency),
          kept: false,
          fault,
          remedy: null,
          parts: [],
          sealed: null,
          by: { key: person.key, name: person.name },
          taught,
        },
      );
      store.outcomeCounts.record(family.id, taught, true, 1);
      if (i % 7 === 0) {
        store.swaps.add({
          family: family.id,
          model: model.id,
          component: 'battery',
          grade: 'copy',
          board: 'another',
          effect: pick(['free', 'notice']),
          saw: '',
          mended: '',
          job: job.number,
          by: { key: person.key, name: person.name },
          at,
        });
      }
    }
  });
}

/** Lines of a working day, by the name that their figures have. */
export const dayLines: Record<string, (i: number) => { line: string; direct?: boolean }> = {
  worth: (i) => ({ line: `/worth "Orrin K3" price:${20 + (i % 100)} symptoms:dead` }),
  trace: (i) => ({ line: `/trace "${['dead', 'got wet'][i % 2]}" model:"Vesper Loam"` }),
  paired: () => ({ line: '/paired "Vesper Loam" component:battery' }),
  'prices.list': () => ({ line: '/prices list "Orrin K3"' }),
  'prices.add': (i) => ({ line: `/prices add "Orrin K3" price:${120 + i} condition:fair` }),
  'job.open': () => ({ line: '/job open "Orrin K3" symptoms:dead ownership:shown lock:free stolen:clear' }),
  'job.log': () => ({ line: '/job log minutes:5' }),
  'job.show': () => ({ line: '/job show job:20' }),
  'job.list': () => ({ line: '/job list' }),
  'job.next': () => ({ line: '/job next hours:6' }),
  'job.totals': () => ({ line: '/job totals 2025' }),
  'job.returns': () => ({ line: '/job returns' }),
  'shelf.list': () => ({ line: '/shelf list' }),
  'records.preview': () => ({ line: '/records preview 2025' }),
  'swap.list': () => ({ line: '/swap list battery' }),
  'week.preview': () => ({ line: '/week preview' }),
  'note.add': (i) => ({ line: `/note add "look at the flex again ${i}"`, direct: true }),
  'note.list': () => ({ line: '/note list', direct: true }),
  'family.list': () => ({ line: '/family list' }),
  caution: () => ({ line: '/caution heat' }),
};

/** Milliseconds of each command in a filled file and in a nearly empty one, in turns. */
export function yearTimes(
  knowledge: Knowledge,
  now: Date,
  size: YearSize = BUSY_YEAR,
  rounds = 30,
): Record<string, { full: number[]; empty: number[] }> {
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-year-'));
  const open = (name: string, filled: YearSize) => {
    const database = openDatabase(join(folder, name), testSealer);
    const collective = database.collectives.create('Tin Shed', { zone: 'Australia/Sydney', region: 'AU' });
    fillYear(database, collective, knowledge, now, filled);
    let ids = 0;
    const dispatcher = createDispatcher({
      database,
      knowledge,
      commands,
      makeId: () => {
        ids += 1;
        return `${name}-${ids}`;
      },
      log: (_, error) => {
        throw error;
      },
    });
    const say = (line: string, direct: boolean) => {
      const reply = dispatcher.handle({
        collective: collective.id,
        person: { key: 'terminal:M1', name: 'M1', role: 'steward' },
        direct,
        now,
        say: { line },
      });
      if (reply.outcome !== 'answered') throw new Error(`${line}: ${reply.title}`);
    };
    return { database, say };
  };
  const full = open('full.sqlite', size);
  const empty = open('empty.sqlite', { jobs: 40, sightings: 40, members: 2 });
  const times: Record<string, { full: number[]; empty: number[] }> = {};
  try {
    for (const [name, line] of Object.entries(dayLines)) {
      const found = { full: [] as number[], empty: [] as number[] };
      for (let i = -3; i < rounds; i += 1) {
        for (const [which, bench] of [
          ['full', full],
          ['empty', empty],
        ] as const) {
          const { line: text, direct = false } = line(i + 3);
          const from = process.hrtime.bigint();
          bench.say(text, direct);
          if (i >= 0) found[which].push(Number(process.hrtime.bigint() - from) / 1e6);
        }
      }
      times[name] = found;
    }
    return times;
  } finally {
    full.database.close();
    empty.database.close();
    rmSync(folder, { recursive: true });
  }
}
