/** The one contract for commands. A command is a value; what people can say is in `index.ts`. */
import type { z } from 'zod';
import { MOST_FILE_BYTES } from '../../shared/csv/text-file.ts';
import type { Message } from '../../shared/language/message.ts';
import { plain, say, typed } from '../../shared/language/say.ts';
import type { Context, Role } from './context.ts';
import { takesWords, wordsToKeep } from './kept-words.ts';
import { type Option, type OptionsShape, problemOf, type Values } from './option.ts';
import { Refusal, type RefusalCode } from './refusal.ts';
import type { Draft } from './reply.ts';

type Where = 'channel' | 'direct' | 'both';

/** Something of the bench that an action works on: without it, it can do nothing. */
/** Kinds of things of the bench that commands name by number or name. */
export type ThingKind =
  | 'model'
  | 'job'
  | 'trace'
  | 'part'
  | 'price'
  | 'note'
  | 'reading'
  | 'report'
  | 'danger';
export interface Need {
  kind: ThingKind;
  /** What is said where it is not there. */
  first: string;
  there: (context: Context) => boolean;
}

interface ActionSpec<O extends OptionsShape, D> {
  summary: Message;
  where?: Where;
  who?: Role;
  /** The first option may be given without its name. */
  options: O;
  examples: readonly string[];
  /** All that has to be there. */
  needs?: readonly Need[];
  /** What the answer holds besides its words: ids, numbers and codes, the same in every language. */
  data: z.ZodType<D>;
  /** With which codes it refuses, besides those that its options, its place and its role bring (see `refusalCodesOf`). */
  refuses?: readonly RefusalCode[];
  /** What it answers takes a while to work out: it may be run while the person still reads, and taken back (`rehearse`). */
  ahead?: boolean;
  /** `texts`: the options as they were given, for a reply that offers the same command with some of them put right. */
  run: (options: Values<O>, context: Context, texts: Readonly<Record<string, string>>) => Draft<NoInfer<D>>;
}

/** One thing a command does, with its option types folded in: it reads its own texts. */
export interface Action {
  summary: Message;
  where: Where;
  who: Role;
  options: OptionsShape;
  examples: readonly string[];
  /** All that has to be there. */
  needs?: readonly Need[];
  data: z.ZodType;
  refuses: readonly RefusalCode[];
  ahead: boolean;
  /** Reads the texts through the options' schemas and runs. Throws Refusal naming the option that was wrong. */
  execute: (texts: Readonly<Record<string, string>>, context: Context) => Draft;
}

export interface Command {
  name: string;
  summary: Message;
  actions: Readonly<Record<string, Action>>;
  /** The action meant when none is named. */
  main: string;
}

/** Characters that an option's text may have. */
function longestOf({ wire }: Option): number {
  if (wire.type === 'file') return MOST_FILE_BYTES;
  if (wire.type === 'text') return wire.max;
  return wire.type === 'lookup' && wire.words ? 2000 : 600;
}

function readOptions(options: OptionsShape, texts: Readonly<Record<string, string>>, context: Context) {
  const values: Record<string, unknown> = {};
  for (const [name, option] of Object.entries(options)) {
    const text = texts[name];
    if (text === undefined) {
      if (!option.required) continue;
      throw new Refusal({
        code: 'missing-option',
        problem: say`${typed(name)} is missing.`,
        expected: option.expected,
        option: name,
      });
    }
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
    if (option.wire.type !== 'file' && /[\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/.test(text)) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`${typed(name)} has a control character in it.`,
        expected: option.expected,
        option: name,
      });
    }
    const limit = longestOf(option);
    const read = text.length > limit ? null : option.schema(context).safeParse(text);
    if (read?.success) {
      values[name] = read.data;
      continue;
    }
    const { problem, expected, nearest, code } = read
      ? problemOf(read.error)
      : { problem: say`${text.length} characters are too many` };
    throw new Refusal({
      code: code ?? 'bad-option',
      problem: plain`${typed(name)}: ${problem}.`,
      expected: expected ?? option.expected,
      option: name,
      ...(nearest ? { nearest } : {}),
    });
  }
  return values;
}

export const defineAction = <const O extends OptionsShape, D>(spec: ActionSpec<O, D>): Action => ({
  where: 'both',
  who: 'visitor',
  refuses: [],
  ahead: false,
  ...spec,
  execute: (given, context) => {
    const texts = wordsToKeep(spec.options, given, context);
    // The values have just been read by the schemas that O is made of.
    return spec.run(readOptions(spec.options, texts, context) as Values<O>, context, texts);
  },
});

/** Codes that any action may refuse with, whatever it does. */
export const commonRefusals: readonly RefusalCode[] = [
  'bad-line',
  'unknown-option',
  'stale-choice',
  'rate-limited',
  'unavailable',
];

/** The codes that an action may refuse with besides the common ones. */
export function refusalCodesOf({ where, who, options, refuses }: Action): RefusalCode[] {
  const all = Object.values(options);
  return [
    ...new Set<RefusalCode>([
      ...(where === 'both' ? [] : ['not-here' as const]),
      ...(who === 'visitor' ? [] : ['not-allowed' as const]),
      ...(all.some(({ required }) => required) ? ['missing-option' as const] : []),
      ...(all.length ? ['bad-option' as const] : []),
      ...(all.some(({ wire }) => wire.type === 'lookup') ? ['not-found' as const] : []),
      ...(all.some(takesWords) ? ['secret' as const] : []),
      ...refuses,
    ]),
  ];
}

/** A command with several actions, one of which is meant when none is named. */
export const defineCommand = <const A extends Record<string, Action>>(command: {
  name: string;
  summary: Message;
  actions: A;
  main: keyof A & string;
}): Command => command;

/** A command that does one thing. */
export const defineSimpleCommand = <const O extends OptionsShape, D>({
  name,
  ...spec
}: ActionSpec<O, D> & { name: string }): Command => ({
  name,
  summary: spec.summary,
  actions: { '': defineAction(spec) },
  main: '',
});

/** `/prices add`, `/worth`. */
export const commandPath = (command: Command, action: string): string =>
  action ? `/${command.name} ${action}` : `/${command.name}`;

/** `/worth model [price:] [condition:]`: the usage line, made from the options. */
export const usage = (command: Command, actionName: string): string => {
  const action = command.actions[actionName];
  const words = Object.entries(action?.options ?? {}).map(([name, option], index) => {
    const word = index === 0 ? `<${name}>` : `${name}:<…>`;
    return option.required ? word : `[${word}]`;
  });
  return [commandPath(command, actionName), ...words].join(' ');
};
