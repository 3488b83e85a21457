/** What is asked in place of a refusal, where something was named that nobody has named here yet. */
import type { Action, Command } from './command.ts';
import type { Context } from './context.ts';
import { wordsToKeep } from './kept-words.ts';
import type { Lookup } from './lookup.ts';
import { Refusal } from './refusal.ts';
import type { Invocation } from './reply.ts';

/** A command that is asked for, with its options as text. */
export interface Wanting {
  command: Command;
  name: string;
  action: Action;
  options: Readonly<Record<string, string>>;
}

export const lookupOf = ({ options }: Action, option: string): Lookup | null => {
  const wire = options[option]?.wire;
  return wire?.type === 'lookup' ? wire.lookup : null;
};

/** `anyway`: also where what was named is close to something that is there. */
export function askedInstead(
  { command, name, action, options }: Wanting,
  option: string,
  context: Context,
  anyway = false,
): Invocation | null {
  const asks = lookupOf(action, option)?.instead;
  if (!asks) return null;
  const kept = wordsToKeep(action.options, options, context);
  return asks(options[option], context, {
    invoke: { command: command.name, action: name, options: kept },
    option,
    options: Object.keys(action.options),
    anyway,
  });
}

/** The question in place of what was refused; null where the refusal is right. */
export function questionInstead(error: unknown, wanted: Wanting, context: Context): Invocation | null {
  if (!(error instanceof Refusal)) return null;
  const { code, option, instead } = error.detail;
  if (instead) return instead;
  if (option === undefined || (code !== 'not-found' && code !== 'missing-option')) return null;
  return askedInstead(wanted, option, context);
}
