/**
 * What Discord accepts: the published API description, and by hand the limits that it lacks. The limits by hand are those
 * of the developer documentation ("Application Commands", "Message Resource", "Component Reference").
 */
import * as spec from 'discord-api-spec/zod';
import * as z from 'zod';
import type { ZodMiniType } from 'zod/mini';

z.config(z.locales.en());

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export const jsonSchema: z.ZodType<Json> = z.json();
export type JsonObject = { [key: string]: Json };
export const isObject = (value: Json | undefined): value is JsonObject =>
  typeof value === 'object' && value !== null && !Array.isArray(value);
export const objectsIn = (value: Json | undefined): JsonObject[] =>
  Array.isArray(value) ? value.filter(isObject) : [];
export const textIn = (value: Json | undefined): string => (typeof value === 'string' ? value : '');
export const listIn = (value: Json | undefined): Json[] => (Array.isArray(value) ? value : []);

/** Keys that were sent and that the description does not know. */
function unknownKeys(sent: Json, parsed: unknown, path: string): string[] {
  if (Array.isArray(sent)) {
    const read = Array.isArray(parsed) ? parsed : [];
    return sent.flatMap((one, index) => unknownKeys(one, read[index], `${path}[${index}]`));
  }
  if (!isObject(sent)) return [];
  const read: Record<string, unknown> = typeof parsed === 'object' && parsed !== null ? { ...parsed } : {};
  return Object.entries(sent).flatMap(([key, value]) =>
    key in read ? unknownKeys(value, read[key], `${path}.${key}`) : [`${path}.${key} is not known`],
  );
}

function against(schema: ZodMiniType, body: Json): string[] {
  const read = schema.safeParse(body);
  return read.success
    ? unknownKeys(body, read.data, '$')
    : read.error.issues.map(({ path, message }) => `${path.join('.')}: ${message}`);
}

/** Throws where what the loopback itself answers is not what the description promises. */
export function promised(schema: ZodMiniType, body: unknown): void {
  const read = schema.safeParse(body);
  if (!read.success) {
    const [issue] = read.error.issues;
    throw new Error(
      `the loopback answers wrongly: ${JSON.stringify(issue)} in ${JSON.stringify(body).slice(0, 400)}`,
    );
  }
}

const COMMAND_NAME = /^[-_\p{L}\p{N}]{1,32}$/u;
const SUBCOMMAND = 1;

function checkOptions(options: Json | undefined, path: string): string[] {
  const problems: string[] = [];
  let optional = false;
  const names = new Set<string>();
  for (const option of objectsIn(options)) {
    const name = textIn(option.name);
    const at = `${path} ${name}`;
    if (!COMMAND_NAME.test(name) || name !== name.toLowerCase()) problems.push(`${at}: bad name`);
    if (names.has(name)) problems.push(`${at}: twice`);
    names.add(name);
    const { length } = textIn(option.description);
    if (length < 1 || length > 100) problems.push(`${at}: description of ${length} characters`);
    if (option.required === true && optional) problems.push(`${at}: required after an optional one`);
    if (option.required !== true && option.type !== SUBCOMMAND) optional = true;
    if (option.autocomplete === true && listIn(option.choices).length)
      problems.push(`${at}: choices and autocomplete`);
    for (const choice of objectsIn(option.choices)) {
      if (textIn(choice.name).length > 100 || textIn(choice.value).length > 100)
        problems.push(`${at}: choice over 100`);
    }
    if (listIn(option.choices).length > 25 || listIn(option.options).length > 25)
      problems.push(`${at}: over 25`);
    problems.push(...checkOptions(option.options, at));
  }
  return problems;
}

/** Characters in all names, descriptions and choices of a command: 8,000 at most. */
function weight(node: JsonObject): number {
  return (
    textIn(node.name).length +
    textIn(node.description).length +
    objectsIn(node.choices).reduce(
      (sum, one) => sum + textIn(one.name).length + textIn(one.value).length,
      0,
    ) +
    objectsIn(node.options).reduce((sum, one) => sum + weight(one), 0)
  );
}

export function checkCommand(body: Json): string[] {
  const problems = against(spec.ApplicationCommandCreateRequestSchema, body);
  if (!isObject(body)) return problems;
  const chat = body.type === undefined || body.type === 1;
  const name = textIn(body.name);
  if (chat) {
    if (!COMMAND_NAME.test(name) || name !== name.toLowerCase()) problems.push(`${name}: bad name`);
    const { length } = textIn(body.description);
    if (length < 1 || length > 100) problems.push(`${name}: description of ${length} characters`);
    problems.push(...checkOptions(body.options, name));
    const kinds = new Set(objectsIn(body.options).map(({ type }) => type === SUBCOMMAND));
    if (kinds.size > 1) problems.push(`${name}: subcommands beside options`);
    if (weight(body) > 8000) problems.push(`${name}: ${weight(body)} characters in all`);
  } else if (textIn(body.description) !== '' || body.options !== undefined) {
    problems.push(`${name}: a menu command has neither description nor options`);
  }
  return problems;
}

const EMBED_TEXT = 6000;
const EPHEMERAL = 64;
const SUPPRESS_EMBEDS = 4;

function embedProblems(embeds: JsonObject[]): string[] {
  const problems: string[] = [];
  let total = 0;
  for (const [index, embed] of embeds.entries()) {
    const fields = objectsIn(embed.fields);
    const footer = isObject(embed.footer) ? textIn(embed.footer.text) : '';
    const author = isObject(embed.author) ? textIn(embed.author.name) : '';
    const texts = [textIn(embed.title), textIn(embed.description), footer, author];
    for (const field of fields) {
      if (!textIn(field.name).trim() || !textIn(field.value).trim())
        problems.push(`embeds[${index}]: empty field`);
      texts.push(textIn(field.name), textIn(field.value));
    }
    const length = texts.reduce((sum, text) => sum + text.length, 0);
    if (!length && !embed.image) problems.push(`embeds[${index}]: empty`);
    total += length;
  }
  if (total > EMBED_TEXT) problems.push(`embeds: ${total} characters in all`);
  return problems;
}

function componentProblems(components: JsonObject[]): string[] {
  const problems: string[] = [];
  if (components.length > 5) problems.push(`${components.length} rows`);
  const ids: string[] = [];
  for (const row of components) {
    const parts = objectsIn(row.components);
    if (row.type !== 1) problems.push(`a ${row.type} at the top without the flag for it`);
    const selects = parts.filter(({ type }) => type !== 2).length;
    if (!parts.length || parts.length > 5 || (selects && parts.length > 1))
      problems.push('a row with too much, or nothing');
    for (const part of parts) {
      ids.push(textIn(part.custom_id));
      if (part.type === 2 && !textIn(part.label).trim()) problems.push('a button without a label');
      const values = objectsIn(part.options).map(({ value }) => textIn(value));
      if (new Set(values).size !== values.length) problems.push('a select with a value twice');
    }
  }
  if (new Set(ids).size !== ids.length) problems.push('a custom_id twice');
  return problems;
}

export interface SentFile {
  /** The field of the form: `files[0]`. */
  field: string;
  name: string;
  bytes: Buffer;
}

function attachmentProblems(body: JsonObject, files: readonly SentFile[]): string[] {
  const problems: string[] = [];
  const described = objectsIn(body.attachments);
  for (const { field, name, bytes } of files) {
    const id = /^files\[(\d+)\]$/.exec(field)?.[1];
    if (!described.some((one) => String(one.id) === id)) problems.push(`${field}: not among attachments`);
    if (!bytes.length) problems.push(`${name}: empty file`);
    if (bytes.length > 10 * 1024 * 1024) problems.push(`${name}: over 10 MiB`);
  }
  const names = new Set([...files.map(({ name }) => name), ...described.map((one) => textIn(one.filename))]);
  for (const embed of objectsIn(body.embeds)) {
    const url = isObject(embed.image) ? textIn(embed.image.url) : '';
    const wanted = /^attachment:\/\/(.+)$/.exec(url)?.[1];
    if (wanted !== undefined && !names.has(wanted)) problems.push(`${url} is not attached`);
  }
  return problems;
}

/** What is wrong with a message, whoever sends it how. `edit`: parts that are left out stay. */
function messageProblems(body: JsonObject, files: readonly SentFile[], edit: boolean): string[] {
  const problems: string[] = [];
  const flags = typeof body.flags === 'number' ? body.flags : 0;
  if (flags & ~(EPHEMERAL | SUPPRESS_EMBEDS)) problems.push(`flags ${flags}`);
  if (textIn(body.content).length > 2000) problems.push('content over 2000');
  const empty =
    !textIn(body.content) && !listIn(body.embeds).length && !listIn(body.components).length && !files.length;
  if (empty && !edit) problems.push('an empty message');
  problems.push(...embedProblems(objectsIn(body.embeds)));
  problems.push(...componentProblems(objectsIn(body.components)));
  problems.push(...attachmentProblems(body, files));
  // Rules of this bot, not of Discord: nothing pings, and every picture has alternative text.
  const mentions = body.allowed_mentions;
  const none =
    isObject(mentions) &&
    Array.isArray(mentions.parse) &&
    !mentions.parse.length &&
    !listIn(mentions.users).length &&
    !listIn(mentions.roles).length;
  if (!none) problems.push('allowed_mentions do not forbid every mention');
  for (const one of objectsIn(body.attachments)) {
    if (/\.(png|jpe?g|gif|webp)$/i.test(textIn(one.filename)) && !textIn(one.description).trim())
      problems.push(`${textIn(one.filename)}: a picture without alternative text`);
  }
  return problems;
}

export const checkMessage = (body: JsonObject, files: readonly SentFile[]): string[] => {
  const nonce = textIn(body.nonce);
  return [
    ...against(spec.MessageCreateRequestSchema, body),
    ...(nonce.length > 25 ? ['nonce over 25'] : []),
    ...messageProblems(body, files, false),
  ];
};
export const checkMessageEdit = (body: JsonObject, files: readonly SentFile[]): string[] => [
  ...against(spec.MessageEditRequestPartialSchema, body),
  ...messageProblems(body, files, true),
];
export const checkFollowUp = (body: JsonObject, files: readonly SentFile[]): string[] => [
  ...against(spec.IncomingWebhookInteractionRequestSchema, body),
  ...messageProblems(body, files, false),
];
export const checkOriginalEdit = (body: JsonObject, files: readonly SentFile[]): string[] => [
  ...against(spec.IncomingWebhookUpdateForInteractionCallbackRequestPartialSchema, body),
  ...messageProblems(body, files, true),
];
export const checkThreadOnMessage = (body: JsonObject): string[] =>
  against(spec.CreateTextThreadWithMessageRequestSchema, body);
export const checkForumPost = (body: JsonObject, files: readonly SentFile[]): string[] => [
  ...against(spec.CreateForumThreadRequestSchema, body),
  ...messageProblems(isObject(body.message) ? body.message : {}, files, false),
];
export const checkThreadChange = (body: JsonObject): string[] =>
  against(spec.UpdateThreadRequestPartialSchema, body);
/** A client lets 20 tags of 20 characters be made ("Forum Tag Object" and "Channel Object"). */
export const checkChannelChange = (body: JsonObject): string[] => [
  ...against(spec.UpdateGuildChannelRequestPartialSchema, body),
  ...(listIn(body.available_tags).length > 20 ? ['over 20 tags'] : []),
  ...objectsIn(body.available_tags).flatMap(({ name }) =>
    textIn(name).length > 20 ? [`tag ${textIn(name)} over 20`] : [],
  ),
];
export const checkPrivateChannel = (body: JsonObject): string[] =>
  against(spec.CreatePrivateChannelRequestSchema, body);

function checkModal(data: JsonObject): string[] {
  const problems: string[] = [];
  const labels = objectsIn(data.components);
  if (labels.length > 5) problems.push(`${labels.length} fields`);
  const ids = labels.map((label) => (isObject(label.component) ? textIn(label.component.custom_id) : ''));
  if (new Set(ids).size !== ids.length) problems.push('a field twice');
  for (const label of labels) {
    const field = isObject(label.component) ? label.component : {};
    const most = typeof field.max_length === 'number' ? field.max_length : 4000;
    if (textIn(field.value).length > most) problems.push(`${textIn(label.label)}: value over ${most}`);
    for (const option of objectsIn(field.options)) {
      if (textIn(option.value).length > 100 || textIn(option.label).length > 100)
        problems.push(`${textIn(label.label)}: an option over 100`);
    }
  }
  return problems;
}

const AUTOCOMPLETE = { most: 25, length: 100 };

export function checkCallback(body: JsonObject, files: readonly SentFile[]): string[] {
  const data = isObject(body.data) ? body.data : {};
  switch (body.type) {
    case 4:
      return [
        ...against(spec.CreateMessageInteractionCallbackRequestSchema, body),
        ...messageProblems(data, files, false),
      ];
    case 5:
      return against(spec.CreateMessageInteractionCallbackRequestSchema, body);
    case 6:
      return against(spec.UpdateMessageInteractionCallbackRequestSchema, body);
    case 7:
      return [
        ...against(spec.UpdateMessageInteractionCallbackRequestSchema, body),
        ...messageProblems(data, files, true),
      ];
    case 8: {
      const choices = objectsIn(data.choices);
      const long = choices.some(
        ({ name, value }) =>
          !textIn(name) ||
          textIn(name).length > AUTOCOMPLETE.length ||
          textIn(value).length > AUTOCOMPLETE.length,
      );
      return [
        ...against(spec.ApplicationCommandAutocompleteCallbackRequestSchema, body),
        ...(choices.length > AUTOCOMPLETE.most ? [`${choices.length} choices`] : []),
        ...(long ? ['a choice of 0 or over 100 characters'] : []),
      ];
    }
    case 9:
      return [...against(spec.ModalInteractionCallbackRequestSchema, body), ...checkModal(data)];
    default:
      return [`callback of type ${JSON.stringify(body.type)}`];
  }
}

export { spec };
