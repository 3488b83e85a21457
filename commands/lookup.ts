/** Lookups: the things an option can name. One lookup feeds parsing, completion and "did you mean" on every surface. */
import Fuse from 'fuse.js';
import { nameKey } from '../shared/store/index.ts';
import type { Context } from './context.ts';

export { nameKey };

export interface Named {
  id: string;
  name: string;
  alias?: readonly string[];
}
export interface Lookup {
  noun: string;
  expected: string;
  entries: (context: Context) => readonly Named[];
  find: (text: string, entries: readonly Named[]) => Named | undefined;
}

const byName = (text: string, entries: readonly Named[]): Named | undefined => {
  const key = nameKey(text);
  return (
    entries.find((entry) => nameKey(entry.id) === key || nameKey(entry.name) === key) ??
    entries.find((entry) => entry.alias?.some((alias) => nameKey(alias) === key))
  );
};

/** No name is so long that its beginning would not tell it; the search takes a step more for each 32 characters. */
const LONGEST_SOUGHT = 32;

const closest = (text: string, entries: readonly Named[], threshold: number): Named[] =>
  new Fuse([...entries], { keys: ['name', 'alias', 'id'], threshold, ignoreLocation: true, shouldSort: true })
    .search(text.slice(0, LONGEST_SOUGHT))
    .map((hit) => hit.item);

/** Up to three names that are close to what was typed. */
export const nearestNames = (text: string, entries: readonly Named[]): string[] =>
  closest(text, entries, 0.45)
    .slice(0, 3)
    .map((entry) => entry.name);

/** At most 25 entries for what has been typed so far: those that begin with it first, then those close to it. */
export function complete(typed: string, entries: readonly Named[]): Named[] {
  const key = nameKey(typed);
  if (!key) return entries.slice(0, 25);
  const begins = entries.filter((entry) =>
    [entry.name, entry.id, ...(entry.alias ?? [])].some((name) => nameKey(name).startsWith(key)),
  );
  return [...new Set([...begins, ...closest(typed, entries, 0.35)])].slice(0, 25);
}

const lookup = (noun: string, expected: string, entries: Lookup['entries']): Lookup => ({
  noun,
  expected,
  entries,
  find: byName,
});

export const families = lookup('family', 'a family (/family list shows them)', ({ knowledge }) => [
  ...knowledge.families.values(),
]);
export const components = lookup(
  'component',
  'a component, such as battery or display assembly',
  ({ knowledge }) =>
    [...knowledge.components.values()].map(({ id, name, plain }) => ({ id, name, alias: plain })),
);
export const symptoms = lookup('symptom', 'a symptom (/help symptoms lists them)', ({ knowledge }) => [
  ...knowledge.symptoms.values(),
]);
export const cautions = lookup('caution', 'a caution (/caution lists them)', ({ knowledge }) => [
  ...knowledge.cautions.values(),
]);
/** The checks and remedies that a trace can ask for. */
export const traceSteps = lookup('check or remedy', 'a check or a remedy of the pack', ({ knowledge }) => [
  ...knowledge.checks.values(),
  ...knowledge.remedies.values(),
]);
export const models = lookup('model', 'a model your collective has named (/family name)', ({ store }) =>
  store.models.list().map((model) => ({ id: String(model.id), name: model.name })),
);
export const functions = lookup(
  'function',
  'a function that the phone has, such as touch or charging',
  ({ knowledge }) => [...knowledge.functions.values()],
);
export const faults = lookup(
  'fault',
  'a fault of the pack, such as battery open circuit',
  ({ knowledge }) => [...knowledge.faults.values()],
);
/** People of the collective that have spoken here. */
export const people = lookup('person', 'someone who has spoken here', ({ store }) =>
  store.people.list().map(({ key, name }) => ({ id: key, name })),
);
/** Jobs by number: the open ones are offered, and any number is taken. */
export const jobs: Lookup = {
  noun: 'job',
  expected: 'the number of a job (/job list)',
  entries: ({ store }) =>
    store.jobs.listOpen().map((job) => {
      const model = job.model === null ? null : store.models.get(job.model)?.name;
      return { id: String(job.number), name: `${job.number} ${model ?? job.family}, ${job.holder}` };
    }),
  find: (text) => {
    const number = /^#?(\d{1,9})(?=$|\s)/.exec(text.trim())?.[1];
    return number === undefined ? undefined : { id: String(Number(number)), name: number };
  },
};
/** A model the collective has named, or a family of the pack. */
export const modelsAndFamilies = lookup(
  'model or family',
  'a model your collective has named, or a family (/family list)',
  (context) => [
    ...models.entries(context).map((entry) => ({ ...entry, id: `model:${entry.id}` })),
    ...families.entries(context).map((entry) => ({ ...entry, id: `family:${entry.id}`, alias: [entry.id] })),
  ],
);
