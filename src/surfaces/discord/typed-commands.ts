/** Finds the commands that a text tells people to say, and what each is given: on Discord every option goes by its name. Pure. */
import { type Action, type Command, usage } from '../../../commands/framework/command.ts';
import { parseLine } from '../../../commands/framework/parse.ts';

export interface TypedCommand {
  from: number;
  to: number;
  command: Command;
  /** Empty for a command that does one thing. */
  action: string;
  /** What is given, in order; no value where the text only names the option. */
  given: { option: string; value: string }[];
}

/** A usage line of a command, or one of its examples, and what it means. */
interface Known extends Pick<TypedCommand, 'action' | 'given'> {
  line: string;
  isUsage: boolean;
}

/** "<model> [price:<…>]": what has to be given. The rest shows where it is typed. */
const optionsOfUsage = ({ options }: Action): TypedCommand['given'] =>
  Object.entries(options).flatMap(([option, { required }]) => (required ? [{ option, value: '…' }] : []));

function exampleOf(command: Command, line: string): Known {
  const { action, options } = parseLine(line, [command]);
  const given = Object.entries(options).map(([option, value]) => ({ option, value }));
  return { line, action, given, isUsage: false };
}

/** The longest first. Those without options say no more than the words of any sentence. */
const knownOf = (command: Command): Known[] =>
  Object.entries(command.actions)
    .flatMap(([action, spec]): Known[] => [
      ...(Object.keys(spec.options).length
        ? [{ line: usage(command, action), action, given: optionsOfUsage(spec), isUsage: true }]
        : []),
      ...spec.examples.map((example) => exampleOf(command, example)).filter(({ given }) => given.length),
    ])
    .sort((a, b) => b.line.length - a.line.length);

/** The action that a line names, or the main one, and what is behind it. */
function partsOf(command: Command, line: string): { action: string; rest: string } {
  const behind = line.slice(command.name.length + 1);
  const [whole = '', word = ''] = /^ ([a-z][a-z-]*)(?![\w:-])/.exec(behind) ?? [];
  return word && Object.hasOwn(command.actions, word)
    ? { action: word, rest: behind.slice(whole.length) }
    : { action: command.main, rest: behind };
}

const NAMED = /^ ([a-z][a-z-]*):("(?:[^"\\]|\\.)*"|…|[^\s"]*)/;
const QUOTED = /^ ("(?:[^"\\]|\\.)*")/;
/** A number, or a word of several parts: no sentence goes on so. */
const TELLING = /^ (#?\d[\w-]*|[a-z]\w*(?:-\w+)+)(?![\w:/])/i;
/** The last word of a text, behind the command. */
const LAST = /^ ([a-z]+)$/i;
/** Words that stand before an option with a value belong to what comes first. */
const WORDS = /^ ((?:[^\s",.;:()]+ ){0,3}[^\s",.;:()]+)(?= [a-z][a-z-]*:["\p{L}\p{N}])/u;

const unquoted = (text: string): string =>
  text.startsWith('"') ? text.slice(1, -1).replace(/\\(.)/g, '$1') : text;
/** A sentence may end behind a value. */
const withoutEnd = (text: string): string => (text.startsWith('"') ? text : text.replace(/[.,;:!?)]+$/, ''));

/** What is given behind the command, as far as that can be told from a sentence that goes on. */
function readGiven(action: Action, rest: string): { given: TypedCommand['given']; length: number } {
  const names = Object.keys(action.options);
  const given: TypedCommand['given'] = [];
  let at = 0;
  const [first] = names;
  const bare = QUOTED.exec(rest) ?? WORDS.exec(rest) ?? TELLING.exec(rest) ?? LAST.exec(rest);
  if (bare?.[1] !== undefined && first !== undefined) {
    given.push({ option: first, value: unquoted(bare[1]) });
    at = bare[0].length;
  }
  for (;;) {
    const [whole = '', option = '', raw = ''] = NAMED.exec(rest.slice(at)) ?? [];
    if (!whole || !names.includes(option)) return { given, length: at };
    const value = withoutEnd(raw);
    given.push({ option, value: unquoted(value) });
    at += whole.length - (raw.length - value.length);
  }
}

/** Behind a usage line: that its action may be left out, which it may not here. */
const LEFT_OUT = /^\n\([^()]*\)$/;

export type FindCommands = (text: string) => TypedCommand[];

/** Looks for commands in texts. */
export function commandFinder(commands: readonly Command[]): FindCommands {
  if (!commands.length) return () => [];
  const byName = new Map(commands.map((command) => [command.name, { command, known: knownOf(command) }]));
  const pattern = new RegExp(`(?<=^|[\\s("'“‘„])/(${[...byName.keys()].join('|')})(?![\\w/-])`, 'gu');
  return (text) => {
    const found: TypedCommand[] = [];
    for (const match of text.matchAll(pattern)) {
      const entry = byName.get(match[1] ?? '');
      if (entry) found.push(readAt(text, match.index, entry));
    }
    return found;
  };
}

function readAt(
  text: string,
  from: number,
  { command, known }: { command: Command; known: Known[] },
): TypedCommand {
  const rest = text.slice(from);
  const exact = known.find(
    ({ line }) => rest.startsWith(line) && !/^[\w-]|^ [a-z-]+:/.test(rest.slice(line.length)),
  );
  if (exact) {
    const end = from + exact.line.length;
    const cut = exact.isUsage ? (LEFT_OUT.exec(text.slice(end))?.[0].length ?? 0) : 0;
    return { from, to: end + cut, command, action: exact.action, given: exact.given };
  }
  const parts = partsOf(command, rest);
  const named = command.actions[parts.action];
  const read = named ? readGiven(named, parts.rest) : { given: [], length: 0 };
  const to = from + rest.length - parts.rest.length + read.length;
  return { from, to, command, action: parts.action, given: read.given };
}
