/** What a reply is about, by its data and its choices: `job:4`, `trace:3`. Pure. */
import type { Reply } from './reply.ts';

const kinds: readonly string[] = ['job', 'trace'];
const isNumber = (value: unknown): value is number => typeof value === 'number' && Number.isInteger(value);

function inData(value: unknown, found: Set<string>): void {
  if (Array.isArray(value)) {
    for (const one of value) inData(one, found);
    return;
  }
  if (typeof value !== 'object' || value === null) return;
  if ('kind' in value && 'number' in value && isNumber(value.number) && kinds.includes(String(value.kind)))
    found.add(`${value.kind}:${value.number}`);
  if ('number' in value && isNumber(value.number)) {
    // A price, a reading of a table, a swap report: they have words of people too.
    if ('how' in value && 'seen' in value) found.add(`price:${value.number}`);
    if ('table' in value && 'place' in value) found.add(`reading:${value.number}`);
    if ('effect' in value && 'by' in value) found.add(`report:${value.number}`);
  }
  // Of the shelf.
  if ('part' in value && 'supplier' in value && isNumber(value.part)) found.add(`part:${value.part}`);
  for (const [name, inner] of Object.entries(value)) {
    if (kinds.includes(name) && isNumber(inner)) found.add(`${name}:${inner}`);
    else inData(inner, found);
  }
}

/** All that it shows something of. */
export function subjectsOf({ data, choices }: Pick<Reply, 'data' | 'choices'>): string[] {
  const found = new Set<string>();
  inData(data, found);
  for (const { subject } of choices) if (subject !== undefined) found.add(subject);
  return [...found];
}

/** What its choices are steps of: where that moves on, they are out of date. */
export const steppedIn = ({ choices }: Pick<Reply, 'choices'>): string[] => [
  ...new Set(choices.flatMap(({ subject, revision }) => (revision === undefined ? [] : (subject ?? [])))),
];
