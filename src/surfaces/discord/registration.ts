/** What Discord is told of the commands, made from their schemas. Pure. */

import { type Action, type Command, commandPath } from '../../../commands/framework/command.ts';
import type { Option } from '../../../commands/framework/option.ts';
import { isPrivate } from '../../../commands/framework/private.ts';
import { languages } from '../../../shared/language/locale.ts';
import type { Message } from '../../../shared/language/message.ts';
import { render } from '../../../shared/language/render.ts';
import { commandType, contextType, installType, optionType, POSTABLE, rights, THREADABLE } from './api.ts';
import { clip } from './escape.ts';
import { askedByForm, MENU } from './forms.ts';
import { discordCommands } from './server-command.ts';

interface RegisteredOption {
  type: number;
  name: string;
  name_localizations?: Record<string, string>;
  description: string;
  description_localizations?: Record<string, string>;
  required?: boolean;
  autocomplete?: boolean;
  choices?: { name: string; value: string }[];
  min_value?: number;
  max_value?: number;
  max_length?: number;
  channel_types?: readonly number[];
  options?: RegisteredOption[];
}
export interface RegisteredCommand {
  type: number;
  name: string;
  name_localizations?: Record<string, string>;
  description?: string;
  description_localizations?: Record<string, string>;
  options?: RegisteredOption[];
  contexts: number[];
  integration_types: number[];
  /** Whom a server shows it to as long as its settings say nothing else: those with these rights. */
  default_member_permissions?: number;
}

/**
 * Words in other languages, by path ("worth", "job log", "job log text"; the names of entries in menus as they are) and by
 * Discord's name of the language. English is what the schemas say; descriptions come from the catalogues where nothing is given.
 */
export type CommandTranslations = Readonly<
  Record<string, Readonly<Record<string, { name?: string; description?: string }>>>
>;

/** Discord's limits ("Application Command Structure", "Application Command Option Structure"). */
const LIMIT = { description: 100, choices: 25, choice: 100, text: 6000 } as const;
/** Discord reads whole numbers up to this on either side of 0. */
const LARGEST = 2 ** 53;

/** What the catalogues have for a description; Discord's names of these languages are the same as theirs. */
const described = (summary: Message): Record<string, string> =>
  Object.fromEntries(
    languages.flatMap((one) => (one === 'en' ? [] : [[one, clip(render(summary, one), LIMIT.description)]])),
  );

const inEnglish = (summary: Message): string => clip(render(summary, 'en'), LIMIT.description);

function localized(path: string, summary: Message | null, translations: CommandTranslations) {
  const given = Object.entries(translations[path] ?? {});
  const pick = (part: 'name' | 'description') =>
    Object.fromEntries(given.flatMap(([language, words]) => (words[part] ? [[language, words[part]]] : [])));
  const names = pick('name');
  const descriptions = { ...(summary ? described(summary) : {}), ...pick('description') };
  return {
    ...(Object.keys(names).length ? { name_localizations: names } : {}),
    ...(Object.keys(descriptions).length ? { description_localizations: descriptions } : {}),
  };
}

/** How Discord asks for an option: what it is, its range, its choices. */
function kindOf({ wire, many }: Option): Pick<RegisteredOption, 'type'> & Partial<RegisteredOption> {
  switch (wire.type) {
    case 'text':
      return { type: optionType.text, max_length: Math.min(wire.max, LIMIT.text) };
    case 'integer':
    case 'number':
      return {
        type: wire.type === 'integer' ? optionType.integer : optionType.number,
        min_value: Math.max(wire.min, -LARGEST),
        max_value: Math.min(wire.max, LARGEST),
      };
    case 'file':
      return { type: optionType.attachment };
    case 'native':
      return wire.kind === 'role'
        ? { type: optionType.role }
        : { type: optionType.channel, channel_types: wire.kind === 'place' ? THREADABLE : POSTABLE };
    case 'lookup':
      return { type: optionType.text, autocomplete: true };
    case 'choice': {
      const few =
        !many &&
        wire.choices.length <= LIMIT.choices &&
        wire.choices.every((choice) => choice.length <= LIMIT.choice);
      return few
        ? { type: optionType.text, choices: wire.choices.map((choice) => ({ name: choice, value: choice })) }
        : { type: optionType.text, autocomplete: true };
    }
  }
}

function optionsOf(
  command: Command,
  name: string,
  action: Action,
  translations: CommandTranslations,
): RegisteredOption[] {
  const path = commandPath(command, name).slice(1);
  const options = Object.entries(action.options).map(([option, spec]): RegisteredOption => {
    const required = spec.required && !askedByForm(command.name, name, option);
    return {
      ...kindOf(spec),
      name: option,
      description: inEnglish(spec.summary),
      ...localized(`${path} ${option}`, spec.summary, translations),
      ...(required ? { required } : {}),
    };
  });
  // Discord wants those that have to be given first.
  return [...options.filter(({ required }) => required), ...options.filter(({ required }) => !required)];
}

/** Where a command shows: what is private shows in direct messages alone, and can be installed by a person. */
function placesOf(command: Command): Pick<RegisteredCommand, 'contexts' | 'integration_types'> {
  const actions = Object.values(command.actions);
  if (isPrivate(command))
    return { contexts: [contextType.direct], integration_types: [installType.server, installType.user] };
  const direct = actions.some(({ where }) => where !== 'channel');
  return {
    contexts: direct ? [contextType.server, contextType.direct] : [contextType.server],
    // A person's own installation would bring it into servers that know nothing of this bot.
    integration_types: [installType.server],
  };
}

/** Commands that set the collective or the server up. Others may be shown them under Integrations in the server's settings. */
const FOR_MANAGERS: readonly string[] = ['setup', 'server'];

function chatCommand(command: Command, translations: CommandTranslations): RegisteredCommand {
  const actions = Object.entries(command.actions);
  const [only] = actions;
  const options =
    only && actions.length === 1 && only[0] === ''
      ? optionsOf(command, '', only[1], translations)
      : actions.map(
          ([name, action]): RegisteredOption => ({
            type: optionType.subcommand,
            name: name || command.name,
            description: inEnglish(action.summary),
            ...localized(`${command.name} ${name}`, action.summary, translations),
            options: optionsOf(command, name, action, translations),
          }),
        );
  return {
    type: commandType.chat,
    name: command.name,
    description: inEnglish(command.summary),
    ...localized(command.name, command.summary, translations),
    options,
    ...placesOf(command),
    ...(FOR_MANAGERS.includes(command.name)
      ? { default_member_permissions: Number(rights.manageServer) }
      : {}),
  };
}

/** As they are registered; nothing is connected, so that none of them can run. */
const ownCommands = discordCommands(() => {
  throw new Error('there is no connection to Discord');
});

/** Everything that this bot registers: its commands, those of this surface alone, and the entry in the menu of a message. */
export const registrations = (
  commands: readonly Command[],
  translations: CommandTranslations = {},
): RegisteredCommand[] => [
  ...[...commands, ...ownCommands].map((command) => chatCommand(command, translations)),
  {
    type: commandType.message,
    name: MENU.name,
    name_localizations: described(MENU.words),
    ...localized(MENU.name, null, translations),
    contexts: [contextType.server],
    integration_types: [installType.server],
  },
];

/** A command in the one form in which two are compared: what Discord adds or leaves out has its default. */
function comparable(raw: unknown): unknown {
  if (Array.isArray(raw)) return raw.map(comparable);
  if (typeof raw !== 'object' || raw === null) return raw;
  const entries = Object.entries(raw).flatMap(([key, value]): [string, unknown][] => {
    if (!COMPARED.has(key) || value === null || value === undefined || value === false || value === '')
      return [];
    if (Array.isArray(value) && !value.length) return [];
    // Which places, not in which order.
    if ((key === 'contexts' || key === 'integration_types') && Array.isArray(value))
      return [[key, [...value].sort()]];
    if (/_localizations$/.test(key) && typeof value === 'object')
      return Object.keys(value).length ? [[key, sorted(value)]] : [];
    // Taken as a number, and told as a text.
    if (key === 'default_member_permissions') return [[key, String(value)]];
    return [[key, comparable(value)]];
  });
  return sorted(Object.fromEntries(entries));
}
const sorted = (value: object): object =>
  Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)));
const COMPARED = new Set([
  'type',
  'name',
  'name_localizations',
  'description',
  'description_localizations',
  'options',
  'required',
  'autocomplete',
  'choices',
  'value',
  'min_value',
  'max_value',
  'min_length',
  'max_length',
  'channel_types',
  'contexts',
  'integration_types',
  'default_member_permissions',
]);

/** A command of a server has neither contexts nor integration types of its own. */
const withoutPlaces = ({ contexts: _, integration_types: __, ...command }: Record<string, unknown>) =>
  command;

/** True when Discord has the command as this version of the bot wants it. `server`: registered in one server alone. */
export function sameCommand(
  wanted: RegisteredCommand,
  there: Record<string, unknown>,
  server: boolean,
): boolean {
  const form = (command: Record<string, unknown>) =>
    JSON.stringify(comparable(server ? withoutPlaces(command) : command));
  return form({ ...wanted }) === form(there);
}

/** What differs between two commands, in words: names of options that came, went or changed. */
export function differences(wanted: RegisteredCommand, there: Record<string, unknown>): string[] {
  const flat = (node: unknown, path: string): Map<string, string> => {
    const found = new Map<string, string>();
    if (typeof node !== 'object' || node === null) return found;
    const { options, ...own }: Record<string, unknown> = { ...node };
    found.set(path, JSON.stringify(comparable(own)));
    for (const option of Array.isArray(options) ? options : []) {
      const name =
        typeof option === 'object' && option !== null && 'name' in option ? String(option.name) : '';
      for (const [key, value] of flat(option, `${path} ${name}`.trim())) found.set(key, value);
    }
    return found;
  };
  const after = flat(wanted, '');
  const before = flat(there, '');
  const words = (path: string) => path || 'description or places';
  return [
    ...[...after.keys()].filter((path) => !before.has(path)).map((path) => `+ ${words(path)}`),
    ...[...before.keys()].filter((path) => !after.has(path)).map((path) => `- ${words(path)}`),
    ...[...after].flatMap(([path, text]) =>
      before.has(path) && before.get(path) !== text ? [`~ ${words(path)}`] : [],
    ),
  ];
}
