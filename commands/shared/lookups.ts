/** What an option can name: the things of the pack and of the collective. */
import type { SymptomGroup } from '../../knowledge/schema.ts';
import type { TranslatedList } from '../../knowledge/translation.ts';
import { languageIn } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import { packText, say } from '../../shared/language/say.ts';
import { nameKey } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { type Lookup, lookup, type Named } from '../framework/lookup.ts';
import { askUnnamedModel, askUnnamedPhone } from './unnamed-phone.ts';

/** Something of the pack: by its name in the asker's language, by what else it is called there, and by its English names. */
function namedOf(
  { write, knowledge, locale }: Context,
  file: TranslatedList,
  { id, name }: { id: string; name: string },
  alias: readonly string[] = [],
): Named {
  const own = write(packText(name));
  const others = knowledge.translations.get(languageIn(locale))?.names.get(`${file}/${id}`) ?? [];
  return {
    id,
    name: own,
    alias: [...new Set([...others, name, ...alias])].filter((one) => one !== own),
  };
}

export const families = lookup({
  expected: say`a family (/family list shows them)`,
  which: say`Which family?`,
  none: (text) => say`no family is called "${text}"`,
  entries: (context) =>
    [...context.knowledge.families.values()].map((one) => namedOf(context, 'families', one)),
});
export const components = lookup({
  expected: say`a component, such as battery or display assembly`,
  which: say`Which component?`,
  none: (text) => say`no component is called "${text}"`,
  entries: (context) =>
    [...context.knowledge.components.values()].map((one) => namedOf(context, 'components', one, one.plain)),
});
const symptomGroupWords: Readonly<Record<SymptomGroup, Message>> = {
  power: say`Power, charging, heat`,
  face: say`Picture, touch, frame`,
  senses: say`Sound, cameras, radios, buttons`,
  past: say`Its past, its system, anything else`,
};
export const symptoms = lookup({
  expected: say`a symptom (/help symptoms lists them)`,
  which: say`Which symptom?`,
  none: (text) => say`no symptom is called "${text}"`,
  entries: (context) =>
    [...context.knowledge.symptoms.values()].map((one) => ({
      ...namedOf(context, 'symptoms', one, one.alias),
      group: symptomGroupWords[one.group],
    })),
});
export const cautions = lookup({
  expected: say`a caution (/caution lists them)`,
  which: say`Which caution?`,
  none: (text) => say`no caution is called "${text}"`,
  entries: (context) =>
    [...context.knowledge.cautions.values()].map((one) => namedOf(context, 'cautions', one, one.alias)),
});
/** The checks and remedies that a trace can ask for. */
export const traceSteps = lookup({
  expected: say`a check or a remedy of the pack`,
  which: say`Which check or remedy?`,
  none: (text) => say`no check or remedy is called "${text}"`,
  entries: (context) => {
    const { checks, remedies } = context.knowledge;
    return [
      ...[...checks.values()].map((one) => namedOf(context, 'checks', one)),
      ...[...remedies.values()].map((one) => namedOf(context, 'remedies', one)),
    ];
  },
});
/** The checks that need nothing opened. */
export const closedChecks = lookup({
  expected: say`a check of a closed phone`,
  which: say`Which check?`,
  none: (text) => say`no check of a closed phone is called "${text}"`,
  entries: (context) =>
    [...context.knowledge.checks.values()]
      .filter(({ access }) => access === 'closed')
      .map((one) => namedOf(context, 'checks', one)),
});
export const models = lookup({
  expected: say`a model your collective has named (/family name)`,
  which: say`Which model?`,
  none: (text) => say`no model is called "${text}"`,
  entries: ({ store }) => store.models.list().map((model) => ({ id: String(model.id), name: model.name })),
});
/** The same, where one that nobody has named can be named on the way. */
export const modelsToName: Lookup = { ...models, instead: askUnnamedModel };
export const functions = lookup({
  expected: say`a function that the phone has, such as touch or charging`,
  which: say`Which function?`,
  none: (text) => say`no function is called "${text}"`,
  entries: (context) =>
    [...context.knowledge.functions.values()].map((one) => namedOf(context, 'functions', one)),
});
export const faults = lookup({
  expected: say`a fault of the pack, such as battery open circuit`,
  which: say`Which fault?`,
  none: (text) => say`no fault is called "${text}"`,
  entries: (context) => [...context.knowledge.faults.values()].map((one) => namedOf(context, 'faults', one)),
});
/** People of the collective that have spoken here. */
export const people = lookup({
  expected: say`someone who has spoken here`,
  which: say`Which person?`,
  none: (text) => say`no person is called "${text}"`,
  // Two people of one name are told apart by their keys.
  entries: ({ store }) => {
    const all = store.people.list();
    const times = new Map<string, number>();
    for (const { name } of all) times.set(nameKey(name), (times.get(nameKey(name)) ?? 0) + 1);
    return all.map(({ key, name }) => ({
      id: key,
      name: (times.get(nameKey(name)) ?? 0) > 1 ? `${name} (${key})` : name,
    }));
  },
});
/** Jobs by number: the open ones are offered, and any number is taken. */
export const jobs: Lookup = {
  expected: say`the number of a job (/job list)`,
  which: say`Which job?`,
  none: (text) => say`no job is called "${text}"`,
  entries: ({ store, knowledge, write }) =>
    store.jobs.listOpen().map((job) => {
      const model = job.model === null ? null : store.models.get(job.model)?.name;
      const family = knowledge.families.get(job.family)?.name;
      const name = model ?? (family === undefined ? job.family : write(packText(family)));
      return { id: String(job.number), name: `${job.number} ${name}, ${job.holder.name}` };
    }),
  find: (text) => {
    const number = /^#?(\d{1,9})(?=$|\s)/.exec(text.trim())?.[1];
    return number === undefined ? undefined : { id: String(Number(number)), name: number };
  },
};
/** A model the collective has named, or a family of the pack. One that nobody has named is asked about. */
export const modelsAndFamilies: Lookup = lookup({
  instead: askUnnamedPhone,
  offers: (context) => models.entries(context),
  expected: say`a model your collective has named, or a family (/family list)`,
  which: say`Which model or family?`,
  none: (text) => say`no model or family is called "${text}"`,
  entries: (context) => [
    ...models.entries(context).map((entry) => ({ ...entry, id: `model:${entry.id}` })),
    ...families.entries(context).map((entry) => ({
      ...entry,
      id: `family:${entry.id}`,
      alias: [entry.id, ...(entry.alias ?? [])],
    })),
  ],
});
