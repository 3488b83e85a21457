/**
 * Private commands: those that work in a direct message alone. What is said with them is repeated nowhere: not in a
 * refusal, not in the log, not in a history, and replies to them are not kept.
 */
import { z } from 'zod';
import type { SecretWords } from '../../knowledge/secrets.ts';
import { maskImeis } from '../../shared/imei/mask-imeis.ts';
import { say } from '../../shared/language/say.ts';
import { findSecret } from '../../shared/notes/secrets.ts';
import type { Command } from './command.ts';
import { codeOf } from './internal-error.ts';
import { nearestNames } from './lookup.ts';
import { type Option, refuseValue } from './option.ts';
import { type Draft, reply, text } from './reply.ts';

export const isPrivate = ({ actions }: Command): boolean =>
  Object.values(actions).every(({ where }) => where === 'direct');

/** The command's word of a line, without its slash: what is glued to it is left out. */
export const commandWord = (line: string): string | null => /^\/([\p{L}\p{N}_-]*)/u.exec(line)?.[1] ?? null;

/**
 * The private command that a line is for. A word that is no command counts when it begins with a private command's name
 * or is close to it: a slip of the finger must not repeat a private text in a room.
 */
export function privateCommandIn(line: string, commands: readonly Command[]): Command | undefined {
  const word = commandWord(line)?.toLowerCase();
  // What has no letters is no name: `/?`, or a sign of approval.
  if (word === undefined || !/\p{L}/u.test(word)) return undefined;
  const known = commands.find(({ name }) => name === word);
  if (known) return isPrivate(known) ? known : undefined;
  const hidden = commands.filter(isPrivate);
  const near = nearestNames(
    word,
    hidden.map(({ name }) => ({ id: name, name })),
  );
  return hidden.find(({ name }) => word.startsWith(name) || near.includes(name));
}

/** Whether a line is for a private command beyond doubt: its name as it is spelt, and not one close to it. */
export const isSurelyPrivate = (line: string, commands: readonly Command[]): boolean => {
  const word = commandWord(line)?.toLowerCase();
  return commands.some((command) => command.name === word && isPrivate(command));
};

/** A digit or a mark more or less, and the words of an IMEI are still one. */
const LONG_NUMBER = /\d(?:[ ./-]?\d){12}/;

/** True where the words hold what may be an IMEI, a right one or one with a slip. */
export const mayHoldImei = (words: string): boolean => LONG_NUMBER.test(words);

/** True for a line that may stand in a history on disk: one for a command that is not private, without an IMEI or a secret. */
export function mayBeKept(line: string, commands: readonly Command[], secrets: SecretWords): boolean {
  const word = commandWord(line)?.toLowerCase();
  const command = commands.find(({ name }) => name === word);
  return (
    command !== undefined &&
    !isPrivate(command) &&
    !/\bimei:/i.test(line) &&
    !mayHoldImei(line) &&
    findSecret(line, secrets) === null &&
    maskImeis(line, secrets) === line
  );
}

/** The option with a refusal that does not repeat what was typed. */
export const withoutEcho = <T>(option: Option<T, true>): Option<T, true> => ({
  ...option,
  schema: (context) =>
    z.string().transform((given, issue) => {
      const read = option.schema(context).safeParse(given);
      if (read.success) return read.data;
      return refuseValue(issue, say`not understood`);
    }),
});

/** What is kept of a reply to a private command, for a request that arrives twice: that it was answered. */
export const answeredBefore = (): Draft =>
  reply({
    audience: 'asker',
    title: say`That was answered when you first said it`,
    blocks: [text(say`What it showed is not kept. Ask again to see it.`)],
  });

/** A fault met while a private command ran: where it happened, without its message, which may hold private words. */
export class PrivateInternalError extends Error {
  readonly code: string;
  constructor(fault: unknown) {
    const code = codeOf(fault);
    super(
      `a private command failed${code && ` (${code})`}; the message is left out, since it may hold private words`,
    );
    this.code = code;
    this.name = fault instanceof Error ? fault.name : 'PrivateFault';
    const frames = (fault instanceof Error ? (fault.stack ?? '') : '')
      .split('\n')
      .filter((line) => /^\s+at /.test(line));
    this.stack = [`${this.name}: ${this.message}`, ...frames].join('\n');
  }
}
