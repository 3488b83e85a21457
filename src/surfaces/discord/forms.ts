/** Forms: where filling in fields is easier than naming options. Each is made from the schema of the action it runs. */

import type { Command } from '../../../commands/framework/command.ts';
import type { Context } from '../../../commands/framework/context.ts';
import type { Option } from '../../../commands/framework/option.ts';
import type { Invocation } from '../../../commands/framework/reply.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import { componentType, inputStyle } from './api.ts';
import { customId } from './custom-id.ts';
import { clip } from './escape.ts';

interface Form {
  command: string;
  action: string;
  /** The options it asks for, at most five. */
  fields: readonly string[];
  /** It opens unless one of these options is given. */
  unless: readonly string[];
}

const forms: readonly Form[] = [
  { command: 'note', action: 'add', fields: ['text', 'job'], unless: ['text'] },
  {
    command: 'job',
    action: 'open',
    fields: ['model', 'symptoms', 'came', 'price', 'imei'],
    unless: ['model', 'imei'],
  },
  { command: 'job', action: 'photo', fields: ['file', 'when', 'job'], unless: ['file'] },
  { command: 'prices', action: 'import', fields: ['file'], unless: ['file'] },
];

/** The entry of a message's context menu, and what it fills in. */
export const MENU = {
  name: 'Add to job log',
  words: say`Add to job log`,
  command: 'job',
  action: 'log',
  fields: ['job', 'text'],
} as const;

/** The form of an action, if it has one. */
export const formOf = (command: string, action: string): Form | undefined =>
  forms.find((form) => form.command === command && form.action === action);

/** True for an option that a form asks for when it is not given: Discord must let it be left out. */
export const askedByForm = (command: string, action: string, option: string): boolean =>
  formOf(command, action)?.unless.includes(option) ?? false;

/** The form that opens instead of running the invocation; null when it can run, or when it says more than a form has room for. */
export function formFor({ command, action, options }: Invocation): Form | null {
  const form = formOf(command, action);
  if (!form || form.unless.some((name) => name in options)) return null;
  return Object.keys(options).every((name) => form.fields.includes(name)) ? form : null;
}

/** Discord's limits ("Modals", "Text Input", "String Select"). A file upload takes one file where nothing else is said. */
const LIMIT = { title: 45, label: 45, text: 4000, hint: 100, entries: 25, entry: 100 } as const;
/** Text that may be longer than this gets several lines. */
const SHORT = 100;

interface Field {
  type: typeof componentType.input | typeof componentType.select | typeof componentType.upload;
  custom_id: string;
  required: boolean;
  style?: number;
  max_length?: number;
  value?: string;
  placeholder?: string;
  options?: { label: string; value: string; default?: boolean }[];
}
export interface Modal {
  custom_id: string;
  title: string;
  components: { type: typeof componentType.label; label: string; description: string; component: Field }[];
}

/** What can be chosen, where that is few things; null where it is to be typed. */
function entriesOf({ wire, many }: Option, context: Context): { label: string; value: string }[] | null {
  if (many) return null;
  const entries =
    wire.type === 'choice'
      ? wire.choices.map((choice) => ({ label: choice, value: choice }))
      : wire.type === 'lookup'
        ? wire.lookup.entries(context).map(({ id, name }) => ({ label: clip(name, LIMIT.entry), value: id }))
        : [];
  const fit = entries.length > 0 && entries.length <= LIMIT.entries;
  return fit && entries.every(({ value }) => value.length > 0 && value.length <= LIMIT.entry)
    ? entries
    : null;
}

function fieldOf(name: string, option: Option, required: boolean, given: string, context: Context): Field {
  // A file that was sent with a refused form has to be chosen anew: nothing can be filled in here.
  if (option.wire.type === 'file') return { type: componentType.upload, custom_id: name, required };
  const entries = entriesOf(option, context);
  if (entries) {
    return {
      type: componentType.select,
      custom_id: name,
      required,
      options: entries.map((entry) => ({ ...entry, ...(entry.value === given ? { default: true } : {}) })),
    };
  }
  const { wire } = option;
  const most = Math.min(LIMIT.text, wire.type === 'text' ? wire.max : LIMIT.text);
  return {
    type: componentType.input,
    custom_id: name,
    required,
    style: wire.type === 'text' && wire.max > SHORT ? inputStyle.paragraph : inputStyle.line,
    max_length: most,
    placeholder: clip(option.example, LIMIT.hint),
    ...(given ? { value: clip(given, most) } : {}),
  };
}

const asLabel = (name: string): string =>
  `${name.charAt(0).toUpperCase()}${name.slice(1).replace(/-/g, ' ')}`;

/**
 * The form of an action, with what is known filled in. `required` names fields that have to be filled in although the option
 * may be left out elsewhere. Throws when the action or a field is not there.
 */
export function modalOf(
  command: Command,
  action: string,
  fields: readonly string[],
  given: Readonly<Record<string, string>>,
  context: Context,
  required: readonly string[] = [],
): Modal {
  const found = command.actions[action];
  if (!found) throw new Error(`/${command.name} has no action ${action}`);
  return {
    custom_id: customId({ kind: 'form', command: command.name, action }),
    title: clip(`/${command.name} ${action}`.trim(), LIMIT.title),
    components: fields.map((name) => {
      const option = found.options[name];
      if (!option) throw new Error(`/${command.name} ${action} has no option ${name}`);
      const needed = option.required || required.includes(name);
      return {
        type: componentType.label,
        label: clip(asLabel(name), LIMIT.label),
        description: clip(render(option.summary), LIMIT.hint),
        component: fieldOf(name, option, needed, given[name] ?? '', context),
      };
    }),
  };
}

/** What a filled-in form says: fields that were left empty are left out, and a line break becomes a space. */
export const invocationOf = (
  command: string,
  action: string,
  fields: Readonly<Record<string, string>>,
): Invocation => ({
  command,
  action,
  options: Object.fromEntries(
    Object.entries(fields)
      .map(([name, value]) => [name, value.replace(/\s*[\r\n]+\s*/g, ' ').trim()] as const)
      .filter(([, value]) => value !== ''),
  ),
});
