/** What can be done after a refusal, one tap each: nothing that was said is lost. Pure. */
import type { Message } from '../../shared/language/message.ts';
import { say, typed, verbatim } from '../../shared/language/say.ts';
import type { Action, Command } from './command.ts';
import { completeOption } from './complete.ts';
import type { Context } from './context.ts';
import { askedInstead } from './instead.ts';
import type { Option } from './option.ts';
import { parseLine } from './parse.ts';
import { isPrivate, mayHoldImei } from './private.ts';
import { Refusal, type RefusalDetail } from './refusal.ts';
import type { DraftChoice, Invocation } from './reply.ts';

/** More than these are not offered where no menu holds them: a list that long is answered by typing. */
const MOST = 10;
/** In menus: as many as three hold. */
const MOST_IN_MENUS = 75;

/** An option that can be picked, and what there is to pick. */
export interface Picks {
  invoke: Invocation;
  name: string;
  option: Option;
  given: string | undefined;
  values: readonly { label: string; value: string; group?: Message }[];
}

/** Where in a list with commas the part that matches nothing stands; 0 for a value that is not a list. */
function wrongPart(
  option: Option,
  given: string,
  context: Context,
): { parts: string[]; index: number } | null {
  const parts = option.many
    ? given
        .split(',')
        .map((part) => part.trim())
        .filter(Boolean)
    : [given];
  const schema = option.schema(context);
  const index = parts.findIndex((part) => !schema.safeParse(part).success);
  return index < 0 ? null : { parts, index };
}

function valuesFor(
  command: Command,
  action: string,
  name: string,
  option: Option,
  given: string | undefined,
  context: Context,
  menus: boolean,
): Picks['values'] | null {
  if (given === undefined) {
    const lookup = option.wire.type === 'lookup' ? option.wire.lookup : undefined;
    const offered = lookup?.offers?.(context) ?? (menus ? lookup?.entries(context) : undefined);
    if (offered)
      return offered
        .slice(0, menus ? MOST_IN_MENUS : MOST)
        .map(({ name: own, group }) => ({ label: own, value: own, ...(group ? { group } : {}) }));
    const all = completeOption(command, action, name, '', context);
    return all.slice(0, MOST).map(({ value }) => ({ label: value, value }));
  }
  if (option.wire.type !== 'lookup' && option.wire.type !== 'choice') return null;
  const wrong = wrongPart(option, given, context);
  if (!wrong) return null;
  const { parts, index } = wrong;
  const near = completeOption(command, action, name, parts[index] ?? '', context).slice(0, MOST);
  if (!near.length) return null;
  return near.map(({ value }) => ({ label: value, value: parts.with(index, value).join(', ') }));
}

/** What was said as a command; null where it cannot be read as one. */
function understood(
  said: { line: string } | { invoke: Invocation },
  commands: readonly Command[],
): Invocation | null {
  if ('invoke' in said) return said.invoke;
  try {
    return parseLine(said.line, commands);
  } catch (error) {
    if (error instanceof Refusal) return null;
    throw error;
  }
}

/** What can be picked for an option that is missing or matches nothing; null where it has to be typed, or is no option. */
export function picksAfter(
  name: string | undefined,
  said: { line: string } | { invoke: Invocation },
  commands: readonly Command[],
  context: Context,
  menus = false,
): Picks | null {
  const parsed = name ? understood(said, commands) : null;
  const command = commands.find((one) => one.name === parsed?.command);
  const action: Action | undefined = parsed ? command?.actions[parsed.action] : undefined;
  const option = name ? action?.options[name] : undefined;
  if (!name || !parsed || !command || !option || option.wire.type === 'file') return null;
  const given = parsed.options[name];
  const values = valuesFor(command, parsed.action, name, option, given, context, menus);
  if (!values) return null;
  const invoke = { command: parsed.command, action: parsed.action, options: parsed.options };
  return { invoke, name, option, given, values };
}

/** The command with each of what can be picked; where it takes several, they can be picked together. */
const asChoices = ({ invoke, name, option, given, values }: Picks): DraftChoice[] =>
  values.map(({ label, value, group }) => ({
    label: verbatim(label),
    invoke: { ...invoke, options: { ...invoke.options, [name]: value } },
    ...(option.many && given === undefined
      ? { several: { title: group ?? whichOf(name, option), label: verbatim(label) } }
      : {}),
  }));

/** "Which model?" */
export const whichOf = (name: string, { wire }: Option): Message =>
  wire.type === 'lookup' ? wire.lookup.which : say`Which ${typed(name.replaceAll('-', ' '))}?`;

/** For a phone that is none of those that can be picked: what it is is asked. */
function another({ invoke, name }: Picks, commands: readonly Command[], context: Context): DraftChoice[] {
  const command = commands.find((one) => one.name === invoke.command);
  const action = command?.actions[invoke.action];
  if (!command || !action) return [];
  const wanting = { command, name: invoke.action, action, options: invoke.options };
  const asked = askedInstead(wanting, name, context, true);
  return asked ? [{ label: say`Another phone: a few questions`, invoke: asked }] : [];
}

/** What has to be typed: the rest of the command is kept, and a form asks for that alone. */
function filledIn(
  name: string | undefined,
  said: { line: string } | { invoke: Invocation },
  commands: readonly Command[],
): DraftChoice[] {
  const parsed = name === undefined ? null : understood(said, commands);
  const option =
    parsed &&
    commands.find((one) => one.name === parsed.command)?.actions[parsed.action]?.options[name ?? ''];
  if (!parsed || name === undefined || !option || !TYPED.includes(option.wire.type)) return [];
  const { command, action, options } = parsed;
  return [
    {
      label: say`Fill in: ${typed(name.replaceAll('-', ' '))}`,
      invoke: { command, action, options },
      fill: name,
    },
  ];
}
const TYPED: readonly Option['wire']['type'][] = ['text', 'integer', 'number'];

/** Actions that only look: an example of one can be run for somebody. */
const LOOKS = ['show', 'list', 'next'];

/** An example that shows how things stand, as a choice. */
function lookAt(example: string | undefined, commands: readonly Command[]): DraftChoice[] {
  const invoke = example === undefined ? null : understood({ line: example }, commands);
  if (!invoke || example === undefined || !LOOKS.includes(invoke.action)) return [];
  const { command, action, options } = invoke;
  return [{ label: typed(example), invoke: { command, action, options } }];
}

/** The command that was meant, with all that was said behind it. */
function respelt(line: string, nearest: readonly string[], commands: readonly Command[]): DraftChoice[] {
  const rest = line.replace(/^\/?\S*/, '');
  return nearest.flatMap((name) => {
    const invoke = understood({ line: `/${name.replace(/^\//, '')}${rest}` }, commands);
    const command = commands.find((one) => one.name === invoke?.command);
    if (!invoke || !command || isPrivate(command)) return [];
    const { action, options } = invoke;
    return [{ label: typed(`/${command.name}`), invoke: { command: command.name, action, options } }];
  });
}

const help = (command: Command | undefined): DraftChoice => ({
  label: command ? say`Help on ${typed(`/${command.name}`)}` : say`What you can say`,
  aside: true,
  invoke: { command: 'help', action: '', options: command ? { about: command.name } : {} },
});

/** Where picking would be refused alike, or would repeat what is private. */
const closed: readonly RefusalDetail['code'][] = ['not-allowed', 'not-here', 'no-collective', 'secret'];

/** The nearest, what is missing, what shows how things stand, and help: at least one of them. */
export function waysOn(
  detail: Pick<RefusalDetail, 'code' | 'option' | 'nearest' | 'example' | 'choices'>,
  said: { line: string } | { invoke: Invocation } | { token: string },
  commands: readonly Command[],
  context: Context,
  menus = false,
): DraftChoice[] {
  const open = 'token' in said ? null : said;
  const invoke = open && understood(open, commands);
  const word = open && 'line' in open ? /^\/?(\S+)/.exec(open.line)?.[1]?.toLowerCase() : undefined;
  const command = commands.find(({ name }) => name === (invoke?.command ?? word));
  const looks = lookAt(detail.example, commands);
  if (!open || closed.includes(detail.code) || (command && isPrivate(command)))
    return [...looks, ...(detail.choices ?? []), help(command)];
  const picks = picksAfter(detail.option, open, commands, context, menus);
  const again = [
    ...(menus ? filledIn(detail.option, open, commands) : []),
    ...(picks ? [...asChoices(picks), ...another(picks, commands, context)] : []),
    ...(detail.code === 'unknown-command' && 'line' in open
      ? respelt(open.line, detail.nearest ?? [], commands)
      : []),
  ];
  return [
    ...(detail.choices ?? []),
    // An IMEI is repeated nowhere, not behind a button either: what was said with one is typed again.
    ...again.filter(({ invoke }) => !mayHoldImei(Object.values(invoke?.options ?? {}).join(' '))),
    ...looks,
    help(command),
  ];
}
