/** Completion of a line as it is typed, from the same lookups that read it. */

import { nameKey } from '../../shared/store/index.ts';
import type { Command } from './command.ts';
import type { Context } from './context.ts';
import { complete, type Named } from './lookup.ts';
import type { Option } from './option.ts';
import { type Word, wordsOf } from './parse.ts';

interface Completion {
  /** What the span is replaced by. */
  text: string;
  /** What it means, where the text does not say. */
  label: string;
}
export interface Completions {
  /** The part of the line that each completion replaces (UTF-16 offsets). */
  from: number;
  to: number;
  items: Completion[];
}

const asNamed = (name: string): Named => ({ id: name, name });

/** What an option can be: at most 25 entries for what has been typed. Texts, numbers and files have none. */
function entriesFor({ wire }: Option, typed: string, context: Context): Named[] {
  if (wire.type === 'choice') return complete(typed, wire.choices.map(asNamed));
  if (wire.type === 'lookup') return complete(typed, wire.lookup.entries(context));
  return [];
}

/** The values an option could have, each whole: earlier ones of a list with commas are kept. At most 25. */
function valuesFor(option: Option, typed: string, context: Context): { entry: Named; value: string }[] {
  const done = option.many ? typed.split(',').slice(0, -1) : [];
  const part = option.many ? (typed.split(',').at(-1) ?? '') : typed;
  const taken = new Set(done.map(nameKey));
  return entriesFor(option, part.trim(), context)
    .filter(({ name, id }) => !taken.has(nameKey(name)) && !taken.has(nameKey(id)))
    .map((entry) => ({ entry, value: [...done.map((one) => one.trim()), entry.name].join(', ') }));
}

/** For a platform that completes one option at a time: at most 25 names, each of which is also the value. */
export function completeOption(
  command: Command,
  action: string,
  option: string,
  typed: string,
  context: Context,
): { name: string; value: string }[] {
  const found = command.actions[action]?.options[option];
  return found ? valuesFor(found, typed, context).map(({ value }) => ({ name: value, value })) : [];
}

const quoted = (value: string): string =>
  /[\s":,]/.test(value) ? `"${value.replace(/["\\]/g, '\\$&')}"` : value;

/** What could stand at the cursor: a command, an action, an option's name with its colon, or a value. */
export function completeLine(
  line: string,
  cursor: number,
  commands: readonly Command[],
  context: Context,
): Completions {
  const typed = line.slice(0, cursor);
  if (!/\s/.test(typed)) {
    const key = typed.replace(/^\//, '').toLowerCase();
    const items = commands
      .filter(({ name }) => name.startsWith(key))
      .map(({ name, summary }) => ({ text: `/${name}`, label: context.write(summary) }));
    return { from: 0, to: cursor, items };
  }
  const [head, ...rest] = wordsOf(typed);
  const command = commands.find(({ name }) => `/${name}` === head?.text.toLowerCase());
  if (!command) return { from: cursor, to: cursor, items: [] };

  const fresh = /\s$/.test(typed) && !openQuote(typed);
  const [first] = rest;
  const chosen = first && !first.name && (rest.length > 1 || fresh) ? first.text.toLowerCase() : undefined;
  const named = chosen !== undefined && Object.hasOwn(command.actions, chosen) ? chosen : undefined;
  const action = command.actions[named ?? command.main];
  const args = named === undefined ? rest : rest.slice(1);
  const last = fresh ? undefined : args.at(-1);

  const spans: { from: number; text: string; label: string }[] = [];
  const typing = last && !last.name ? last.text : '';
  const wordFrom = last && !last.name ? last.from : cursor;
  const atWord = fresh || (last !== undefined && !last.name && typed.charAt(last.from) !== '"');

  if (named === undefined && args.length <= (fresh ? 0 : 1) && atWord) {
    for (const [name, one] of Object.entries(command.actions)) {
      if (name !== '' && name.startsWith(typing.toLowerCase()))
        spans.push({ from: wordFrom, text: name, label: context.write(one.summary) });
    }
  }
  const { option, text, from } = currentValue(args, Object.keys(action?.options ?? {})[0], cursor);
  const found = option === undefined ? undefined : action?.options[option];
  if (found && !(fresh && isWhole(found, text, context))) {
    for (const { entry, value } of valuesFor(found, text, context))
      spans.push({ from, text: quoted(value), label: entry.id === entry.name ? '' : entry.id });
  }
  if (atWord) {
    const used = new Set(args.map(({ name }) => name));
    for (const [name, one] of Object.entries(action?.options ?? {})) {
      if (!used.has(name) && name.startsWith(typing.toLowerCase()))
        spans.push({ from: wordFrom, text: `${name}:`, label: context.write(one.summary) });
    }
  }
  return overOneSpan(line, cursor, spans);
}

const openQuote = (typed: string): boolean => (typed.replace(/\\./g, '').match(/"/g)?.length ?? 0) % 2 === 1;

/** The option that the cursor is in, and what it has so far: words without a name belong to what came before them. */
function currentValue(args: readonly Word[], firstOption: string | undefined, cursor: number) {
  let option = firstOption;
  let text = '';
  let from = cursor;
  let begun = false;
  for (const word of args) {
    if (word.name !== undefined) {
      option = word.name;
      text = word.text;
      from = word.from + word.name.length + 1;
    } else {
      text = begun && text ? `${text} ${word.text}` : word.text;
      if (!begun) from = word.from;
    }
    begun = true;
  }
  return { option, text, from };
}

const isWhole = (option: Option, text: string, context: Context): boolean =>
  text !== '' &&
  entriesFor(option, text, context).some(
    ({ id, name }) => nameKey(name) === nameKey(text) || nameKey(id) === nameKey(text),
  );

/** Widens every completion to the longest span, so that a line editor has one part to replace. */
function overOneSpan(
  line: string,
  cursor: number,
  spans: readonly { from: number; text: string; label: string }[],
): Completions {
  const from = Math.min(cursor, ...spans.map((span) => span.from));
  return {
    from,
    to: cursor,
    items: spans.map((span) => ({ text: line.slice(from, span.from) + span.text, label: span.label })),
  };
}
