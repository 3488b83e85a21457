/**
 * Examples as they can be typed here and now. They are written with made-up numbers and a made-up model; where they are shown, what
 * the bench has takes their place, so that what is shown works.
 */
import type { Store } from '../../shared/store/index.ts';
import type { Action, Command, ThingKind } from './command.ts';
import type { Context } from './context.ts';
import { lookupOf } from './instead.ts';
import { parseLine } from './parse.ts';
import { Refusal } from './refusal.ts';

/** The model that examples speak of. */
const MODEL = 'Orrin K3';
/** The person that examples speak of. */
const PERSON = 'Wren';

interface Kind {
  kind: ThingKind;
  /** Where an example has its number: all before it, and the number. */
  at: RegExp;
  has: (store: Store, number: number, context: Context) => boolean;
  newest: (store: Store, context: Context) => number | undefined;
}

const newestJob = (store: Store, { person }: Context): number | undefined =>
  [
    ...store.jobs.listOpen({ holderKey: person.key, limit: 1 }),
    ...store.jobs.listOpen({ limit: 1 }),
    ...store.jobs.listEnded(1),
  ][0]?.number;

/** What a number in an example is the number of. */
const kinds: readonly Kind[] = [
  {
    kind: 'job',
    at: /(\bjob:|^\/job |^\/job returned )(\d+)\b/,
    has: (store, number) => store.jobs.get(number) !== null,
    newest: newestJob,
  },
  {
    kind: 'trace',
    at: /(\btrace:|^\/trace (?:show|wipe) )(\d+)\b/,
    has: (store, number) => store.traces.get(number) !== null,
    newest: (store) => store.traces.listOpen()[0]?.number,
  },
  {
    kind: 'part',
    at: /(^\/shelf [a-z]+ )(\d+)\b/,
    has: (store, number) => store.shelf.get(number) !== null,
    newest: (store) => store.shelf.list({ limit: 1 })[0]?.number,
  },
  {
    kind: 'price',
    at: /(^\/prices remove )(\d+)\b/,
    has: (store, number) => store.sightings.get(number) !== null,
    newest: (store) => store.sightings.list({ limit: 1 })[0]?.number,
  },
  {
    kind: 'note',
    at: /(^\/note [a-z]+ )(\d+)\b/,
    has: (store, number, { person }) => store.notes.get(person.key, number) !== null,
    newest: (store, { person }) => store.notes.list(person.key, { limit: 1 })[0]?.number,
  },
  {
    kind: 'reading',
    at: /(^\/reading remove )(\d+)\b/,
    has: (store, number) => store.benchReadings.get(number) !== null,
    newest: (store) => store.models.list().flatMap(({ id }) => store.benchReadings.of(id))[0]?.number,
  },
  {
    kind: 'report',
    at: /(^\/swap (?:aside|wipe) )(\d+)\b/,
    has: (store, number) => store.swaps.get(number) !== null,
    newest: (store) => store.swaps.list({ limit: 1 })[0]?.number,
  },
];

/** False where the example names a model that has to be here already: nothing would ask what it is. */
function asksFor(line: string, commands: readonly Command[]): boolean {
  const { command, action, options } = parseLine(line, commands);
  const found = commands.find(({ name }) => name === command)?.actions[action];
  return Object.entries(options).every(([name, value]) => {
    const lookup = value === MODEL && found ? lookupOf(found, name) : null;
    return lookup === null || lookup.instead !== undefined;
  });
}

/**
 * An example with the bench's own numbers and names. Where it has none of a kind yet: the first there will be, when what makes it
 * is said before; else null.
 */
function fitted(
  example: string,
  commands: readonly Command[],
  context: Context,
  willBe: ReadonlySet<ThingKind>,
): string | null {
  const { store, person } = context;
  let line = example;
  for (const { kind, at, has, newest } of kinds) {
    const number = at.exec(line)?.[2];
    if (number === undefined || has(store, Number(number), context)) continue;
    const own = newest(store, context) ?? (willBe.has(kind) ? 1 : null);
    if (own === null) return null;
    line = line.replace(at, (_, before: string) => `${before}${own}`);
  }
  if (line.includes(MODEL) && !store.models.findByName(MODEL)) {
    const [own] = store.models.list();
    if (own) line = line.replaceAll(MODEL, own.name);
    else if (!willBe.has('model') && !asksFor(line, commands)) return null;
  }
  if (line.includes(` ${PERSON} `)) {
    const people = store.people.list();
    const other = people.find(({ key }) => key !== person.key) ?? people[0];
    if (!other) return null;
    if (!people.some(({ name }) => name === PERSON)) line = line.replace(` ${PERSON} `, ` "${other.name}" `);
  }
  return line;
}

/** What has to be said before an action can do anything here, in this order. */
const firstBefore = ({ needs = [] }: Action, context: Context): string[] =>
  needs.filter(({ there }) => !there(context)).map(({ first }) => first);

/** The examples of an action that can be typed here as they stand, after what has to be said before. */
export function shownExamples(
  action: Action,
  commands: readonly Command[],
  context: Context,
): { before: string[]; examples: string[] } {
  const willBe = new Set((action.needs ?? []).map(({ kind }) => kind));
  return {
    before: firstBefore(action, context).map(
      (first) => workable(first, commands, context) ?? fitted(first, commands, context, willBe) ?? first,
    ),
    examples: action.examples.flatMap((one) => fitted(one, commands, context, willBe) ?? []),
  };
}

/** What can be typed now for an example: itself with the bench's own numbers, or what comes before it; null for none. */
export function workable(example: string, commands: readonly Command[], context: Context): string | null {
  try {
    const { command, action } = parseLine(example, commands);
    const found = commands.find(({ name }) => name === command)?.actions[action];
    const [first] = found ? firstBefore(found, context) : [];
    return first === undefined
      ? fitted(example, commands, context, new Set())
      : workable(first, commands, context);
  } catch (error) {
    if (error instanceof Refusal) return example;
    throw error;
  }
}
