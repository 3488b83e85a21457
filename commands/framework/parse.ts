/**
 * Reads a line such as `/worth Orrin K3 price:60 symptoms:"dead, no charge"`. Options are `name:value` in any order;
 * quotes hold spaces and colons; the first option may go without its name. Words without a name belong to what came
 * before them.
 */
import type { Message } from '../../shared/language/message.ts';
import { inRow, say, typed, verbatim } from '../../shared/language/say.ts';
import { type Action, type Command, commandPath, usage } from './command.ts';
import { nearestNames } from './lookup.ts';
import { commandWord, isPrivate } from './private.ts';
import { Refusal, type RefusalCode } from './refusal.ts';
import type { Invocation } from './reply.ts';

/** A line longer than this is refused. */
const LINE_LIMIT = 4000;

export interface Word {
  text: string;
  from: number;
  to: number;
  /** The option's name, where the word began with `name:`. */
  name?: string;
}

export interface Parsed extends Invocation {
  /** Where each option's value stood in the line. */
  spans: Readonly<Record<string, { from: number; to: number }>>;
}

/** The words of a line: a name with nothing behind its colon, or a word (named or not, quoted or not). */
export function wordsOf(line: string): Word[] {
  const pattern = /([a-z][a-z-]*):(?=\s|$)|(?:([a-z][a-z-]*):)?(?:"((?:[^"\\]|\\.)*)"?|([^\s"]+))/g;
  return [...line.matchAll(pattern)].map((match) => {
    const name = match[1] ?? match[2];
    const text = match[3]?.replace(/\\(.)/g, '$1') ?? match[4] ?? '';
    return { text, from: match.index, to: match.index + match[0].length, ...(name ? { name } : {}) };
  });
}

function refuseWord(
  code: RefusalCode,
  line: string,
  word: Word,
  problem: Message,
  nearest: string[],
  expected: Message,
): never {
  throw new Refusal({ code, problem, nearest, expected, line, from: word.from, to: word.to });
}

/** What is wrong with a private command's line, without a word of it. */
function refusePrivate(command: Command, name: string): never {
  throw new Refusal({
    code: 'bad-line',
    problem: say`${typed(commandPath(command, name))} cannot be read like that.`,
    expected: say`${typed(usage(command, name))}; a text with a colon in it goes in quotes`,
  });
}

function chooseAction(
  command: Command,
  line: string,
  rest: Word[],
): { name: string; action: Action; args: Word[] } {
  const first = rest[0];
  const names = Object.keys(command.actions).filter(Boolean);
  const word = first && !first.name ? first.text.toLowerCase() : '';
  const named = word && Object.hasOwn(command.actions, word) ? command.actions[word] : undefined;
  if (first && named && first.text)
    return { name: first.text.toLowerCase(), action: named, args: rest.slice(1) };
  const action = command.actions[command.main];
  if (!action) throw new Error(`${command.name} has no main action`);
  if (first && !first.name && Object.keys(action.options).length === 0 && names.length) {
    if (isPrivate(command)) refusePrivate(command, command.main);
    refuseWord(
      'unknown-action',
      line,
      first,
      say`${typed(`/${command.name}`)} has no action "${verbatim(first.text)}".`,
      nearestNames(
        first.text,
        names.map((name) => ({ id: name, name })),
      ),
      say`one of ${inRow(names.map((one) => typed(one)))}`,
    );
  }
  return { name: command.main, action, args: rest };
}

/** The word whole, where what stands before its colon is no option and the option that it is for may have colons in it. */
function asText(word: Word, line: string, { options }: Action, current: string | undefined): Word {
  const wire = current === undefined ? undefined : options[current]?.wire;
  const whole = wire?.type === 'text' && wire.colons && word.name !== undefined && !(word.name in options);
  return whole ? { text: line.slice(word.from, word.to), from: word.from, to: word.to } : word;
}

/** The command that a line begins with; refuses a line that begins with none. */
function commandOfLine(line: string, head: Word | undefined, commands: readonly Command[]): Command {
  if (!head || !line.startsWith('/') || head.text.length < 2) {
    throw new Refusal({
      code: 'bad-line',
      problem: say`A command begins with /.`,
      expected: say`a command`,
      example: '/help',
    });
  }
  const sought = head.text.slice(1).toLowerCase();
  const command = commands.find(({ name }) => name === sought);
  if (command) return command;
  const nearest = nearestNames(
    sought,
    commands.map(({ name }) => ({ id: name, name })),
  );
  // The rest of the line may be private, were the command spelt right: the word alone is pointed at.
  const word = `/${commandWord(line) ?? ''}`;
  return refuseWord(
    'unknown-command',
    word,
    { text: word, from: 0, to: word.length },
    say`There is no command ${typed(word)}.`,
    nearest.map((name) => `/${name}`),
    say`/help lists them`,
  );
}

/** What is wrong with a word where it stands: a name that is no option's, or was given; or a value for no option. */
function refuseMisplaced(line: string, word: Word, path: string, action: Action, how: string): never {
  const known = Object.keys(action.options);
  if (word.name === undefined)
    return refuseWord('unknown-option', line, word, say`${typed(path)} takes no options.`, [], typed(how));
  const name = typed(word.name);
  if (known.includes(word.name))
    return refuseWord('bad-line', line, word, say`${name} is given twice.`, [], say`${name} once`);
  return refuseWord(
    'unknown-option',
    line,
    word,
    say`${typed(path)} has no option "${verbatim(word.name)}".`,
    nearestNames(
      word.name,
      known.map((id) => ({ id, name: id })),
    ),
    known.length ? say`one of ${inRow(known.map((one) => typed(one)))}` : say`no options`,
  );
}

/** Throws Refusal, with the place in the line, when it cannot be read. */
export function parseLine(line: string, commands: readonly Command[]): Parsed {
  if (line.length > LINE_LIMIT) {
    throw new Refusal({
      code: 'bad-line',
      problem: say`That is ${line.length} characters; a command has at most ${LINE_LIMIT}.`,
      expected: say`a shorter command; long lists go in a CSV file for /prices import`,
    });
  }
  const [head, ...rest] = wordsOf(line);
  const command = commandOfLine(line, head, commands);
  const { name, action, args } = chooseAction(command, line, rest);
  const known = Object.keys(action.options);
  const texts: Record<string, string> = {};
  const spans: Record<string, { from: number; to: number }> = {};
  let current = known[0];
  for (const raw of args) {
    const word = asText(raw, line, action, current);
    const at = word.name ?? current;
    const isWrong =
      at === undefined ||
      (word.name !== undefined && (!known.includes(word.name) || texts[word.name] !== undefined));
    if (isWrong) {
      if (isPrivate(command)) refusePrivate(command, name);
      return refuseMisplaced(line, word, commandPath(command, name), action, usage(command, name));
    }
    const before = word.name === undefined ? texts[at] : undefined;
    const from = word.name === undefined ? (spans[at]?.from ?? word.from) : word.from;
    texts[at] = before ? `${before} ${word.text}` : word.text;
    spans[at] = { from, to: word.to };
    current = at;
  }
  return { command: command.name, action: name, options: texts, spans };
}
