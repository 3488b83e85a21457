/**
 * What can be said and what comes back, made from the commands themselves: `commands/README.md` for people, and
 * `commands/data.schema.json` (JSON Schema 2020-12) for programs that read replies. `npm run commands` writes both anew.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import {
  type Action,
  type Command,
  commandPath,
  commonRefusals,
  refusalCodesOf,
  usage,
} from '../../commands/framework/command.ts';
import type { Option } from '../../commands/framework/option.ts';
import { type RefusalCode, refusalCodes, refusalData } from '../../commands/framework/refusal.ts';
import type { Message } from '../../shared/language/message.ts';
import { render } from '../../shared/language/render.ts';
import { commandsBySurface } from '../surface-commands.ts';

/** As much of a JSON Schema as is looked at here. */
const schemaPart = z.looseObject({
  type: z.union([z.string(), z.array(z.string())]).optional(),
  properties: z.record(z.string(), z.looseObject({})).optional(),
  required: z.array(z.string()).optional(),
  items: z.looseObject({}).optional(),
  anyOf: z.array(z.looseObject({})).optional(),
  oneOf: z.array(z.looseObject({})).optional(),
  enum: z.array(z.unknown()).optional(),
  const: z.unknown().optional(),
});
type SchemaPart = z.infer<typeof schemaPart>;

/** Every command, with the surfaces that have it where not all do. */
export const allCommands = (): { command: Command; surfaces: string[] }[] => {
  const found = new Map<string, { command: Command; surfaces: string[] }>();
  for (const { surface, commands } of commandsBySurface())
    for (const command of commands) {
      const known = found.get(command.name) ?? { command, surfaces: [] };
      if (surface !== null) known.surfaces.push(surface);
      found.set(command.name, known);
    }
  return [...found.values()];
};

/** The name of an action's data in the schema file: "job-open", "worth". */
export const dataName = (command: Command, action: string): string =>
  commandPath(command, action).slice(1).replace(' ', '-');

export interface DataSchema extends z.core.JSONSchema.JSONSchema {
  $defs: Record<string, z.core.JSONSchema.JSONSchema>;
}

/** One schema an action; actions that answer the same share it. */
export function dataSchema(): DataSchema {
  const named = new Map<z.ZodType, string>();
  const made = (schema: z.ZodType): z.core.JSONSchema.JSONSchema => {
    const {
      $schema: _,
      '~standard': __,
      ...rest
    } = z.toJSONSchema(schema, {
      // That a whole number is one that a double holds exactly goes without saying.
      override: ({ jsonSchema: one }) => {
        if (one.minimum === Number.MIN_SAFE_INTEGER) delete one.minimum;
        if (one.maximum === Number.MAX_SAFE_INTEGER) delete one.maximum;
      },
    });
    return rest;
  };
  const defs: DataSchema['$defs'] = { refused: made(refusalData) };
  for (const { command } of allCommands()) {
    for (const [action, { data }] of Object.entries(command.actions)) {
      const name = dataName(command, action);
      const before = named.get(data);
      defs[name] = before === undefined ? made(data) : { $ref: `#/$defs/${before}` };
      if (before === undefined) named.set(data, name);
    }
  }
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'What replies hold besides their words',
    description:
      'The data of an answered reply, by what was asked; "refused" is that of a refusal. Made by npm run commands.',
    $defs: defs,
  };
}

const english = (message: Message): string => render(message, 'en');
/** What Markdown would read as its own, and what would end a table's cell. */
const cell = (text: string): string => text.replace(/[|<>]/g, (sign) => `\\${sign}`);
const code = (text: string): string => `\`${text}\``;
const codes = (list: readonly string[]): string => list.map(code).join(', ');

const kindOf = ({ wire, many }: Option): string => {
  const kind = {
    text: 'text',
    choice: 'choice',
    integer: 'whole number',
    number: 'number',
    lookup: 'name',
    file: 'text file',
    native: 'role or channel of the platform',
  }[wire.type];
  return many ? `${kind}, several` : kind;
};

/** A part of a schema in a few words: "number or null", "list of {number, at}". */
function briefly(part: SchemaPart): string {
  const { type, items, properties, enum: values, anyOf, oneOf, const: only } = part;
  const inner = (one: unknown): string => briefly(schemaPart.parse(one));
  if (only !== undefined) return code(JSON.stringify(only));
  if (values)
    return values.length > 8
      ? `one of ${values.length} ids`
      : values.map((one) => code(String(one))).join(', ');
  const union = anyOf ?? oneOf;
  if (union) return [...new Set(union.map(inner))].join(' or ');
  if (type === 'array') return `list of ${items ? inner(items) : 'anything'}`;
  if (properties) return `{${Object.keys(properties).join(', ')}}`;
  return [type ?? 'anything'].flat().join(' or ');
}

/** What data holds: a line for each of its parts; of a union, for each of its forms. */
function heldIn(name: string, all: DataSchema): string[] {
  const given = all.$defs[name];
  const target = given?.$ref === undefined ? name : given.$ref.slice('#/$defs/'.length);
  if (target !== name) return [`As ${code(target)}.`];
  const part = schemaPart.parse(given);
  const forms = part.oneOf ?? part.anyOf ?? [part];
  return forms.flatMap((form) => {
    const { properties = {}, required = [] } = schemaPart.parse(form);
    const lines = Object.entries(properties).map(
      ([key, value]) =>
        `${code(key)}${required.includes(key) ? '' : ' (if any)'} ${briefly(schemaPart.parse(value))}`,
    );
    return [lines.length ? `${lines.join('; ')}.` : 'Nothing.'];
  });
}

const whoWords = { visitor: 'everyone', member: 'members', steward: 'stewards' } as const;
const whereWords = { both: 'anywhere', channel: 'in a shared place', direct: 'in a direct message' } as const;

function actionText(command: Command, name: string, action: Action, all: DataSchema): string {
  const options = Object.entries(action.options);
  const single = Object.keys(command.actions).length === 1;
  const refuses = refusalCodesOf(action);
  const held = heldIn(dataName(command, name), all);
  return [
    ...(single ? [] : [`### ${commandPath(command, name)}\n`, `${english(action.summary)}.\n`]),
    `${code(usage(command, name))}\n`,
    `For ${whoWords[action.who]}, ${whereWords[action.where]}.${
      !single && command.main === name ? ` Meant where ${code(`/${command.name}`)} names no action.` : ''
    }\n`,
    ...(options.length
      ? [
          '| option | is | what it is for | wanted | example |',
          '|---|---|---|---|---|',
          ...options.map(
            ([option, spec]) =>
              `| ${code(option)}${spec.required ? ', needed' : ''} | ${kindOf(spec)} | ${cell(english(spec.summary))} | ${cell(english(spec.expected))} | ${code(spec.example)} |`,
          ),
          '',
        ]
      : []),
    `For example: ${action.examples.map(code).join('; ')}.\n`,
    ...(held.length === 1
      ? [`Data: ${held[0] ?? ''}\n`]
      : ['Data, one of:\n', ...held.map((one) => `- ${one}`), '']),
    `Refuses with: ${refuses.length ? codes(refuses) : 'the common codes alone'}.\n`,
  ].join('\n');
}

/** `commands/README.md`. */
function referenceText(): string {
  const all = dataSchema();
  const rows = Object.entries(refusalCodes).map(([name, meaning]) => `| ${code(name)} | ${meaning} |`);
  const common: readonly RefusalCode[] = commonRefusals;
  return `# What can be said, and what comes back

Made from the commands by \`npm run commands\`; a test holds it current. Who may say what is in
[tests/permissions/README.md](../tests/permissions/README.md) besides, how a command is built in
[DEVELOPERS.md](../DEVELOPERS.md).

Options are \`name:value\` in any order; quotes hold spaces; the first may go without its name. A reply has words, in the reader's
language, and \`data\`: ids, numbers and codes, the same in every language. \`--json\` prints replies whole. What \`data\` holds is
below in short, and in [data.schema.json](data.schema.json) in full, as JSON Schema, under the name of what was asked
(\`job-open\`).

## Refusals

A refused reply (\`outcome\` is \`refused\`) saved nothing. Its \`data\` is \`{code, option, example, nearest, lines}\`: the code below,
which option was wrong, what would be right, names that may have been meant, and which lines of a file are wrong; all but the code
only where there is something to say.

| code | meaning |
|---|---|
${rows.join('\n')}

Common to all are ${codes(common)}. Before an action is known there are ${codes(['unknown-command', 'unknown-action', 'no-collective'])}.

${allCommands()
  .map(
    ({ command, surfaces }) => `## /${command.name}

${english(command.summary)}.${surfaces.length ? ` On ${surfaces.join(' and ')} alone.` : ''}

${Object.entries(command.actions)
  .map(([name, action]) => actionText(command, name, action, all))
  .join('\n')}`,
  )
  .join('\n')}`;
}

const fileOf = (name: string): string => fileURLToPath(new URL(`../../commands/${name}`, import.meta.url));
/** What is saved, and what it has to be. */
export const made = [
  { file: fileOf('README.md'), text: referenceText },
  { file: fileOf('data.schema.json'), text: () => `${JSON.stringify(dataSchema(), null, 1)}\n` },
] as const;
export const saved = (file: string): string => readFileSync(file, 'utf8');

if (process.argv[1] === fileURLToPath(import.meta.url))
  for (const { file, text } of made) writeFileSync(file, text());
