/** What an option can name: the things of the pack and of the collective. */
import { nameKey } from '../../shared/store/index.ts';
import { type Lookup, lookup } from '../framework/lookup.ts';

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
/** People of the collective that have spoken here. Several who go by one name are told apart by their keys. */
export const people = lookup('person', 'someone who has spoken here', ({ store }) => {
  const all = store.people.list();
  const times = new Map<string, number>();
  for (const { name } of all) times.set(nameKey(name), (times.get(nameKey(name)) ?? 0) + 1);
  return all.map(({ key, name }) => ({
    id: key,
    name: (times.get(nameKey(name)) ?? 0) > 1 ? `${name} (${key})` : name,
  }));
});
/** Jobs by number: the open ones are offered, and any number is taken. */
export const jobs: Lookup = {
  noun: 'job',
  expected: 'the number of a job (/job list)',
  entries: ({ store }) =>
    store.jobs.listOpen().map((job) => {
      const model = job.model === null ? null : store.models.get(job.model)?.name;
      return { id: String(job.number), name: `${job.number} ${model ?? job.family}, ${job.holder.name}` };
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
