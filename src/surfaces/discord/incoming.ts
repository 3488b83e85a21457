/** What Discord sends when a person does something, read from the raw payload; anything else than this surface needs is left. */
import { z } from 'zod';
import { commandType, componentType, interactionType, optionType } from './api.ts';

const id = z.string().regex(/^\d{1,20}$/);
/** A set of rights, a bit each. */
const rightsSchema = z
  .string()
  .regex(/^\d{1,40}$/)
  .transform(BigInt);

const userSchema = z.object({ id, username: z.string(), global_name: z.string().nullish() });
const attachmentSchema = z.object({
  id,
  filename: z.string(),
  size: z.number().int().min(0),
  url: z.url({ protocol: /^https?$/ }),
  content_type: z.string().nullish(),
});
const attachmentsSchema = z.record(z.string(), attachmentSchema).optional();
const optionSchema = z.object({
  name: z.string(),
  type: z.number().int(),
  value: z.union([z.string(), z.number(), z.boolean()]).optional(),
  focused: z.boolean().optional(),
  get options() {
    return z.array(optionSchema).optional();
  },
});
type RawOption = z.infer<typeof optionSchema>;

const pressedMessageSchema = z.object({
  id,
  flags: z.number().int().optional(),
  author: z.object({ id }).optional(),
  attachments: z.array(z.object({ id, filename: z.string(), description: z.string().nullish() })).default([]),
  interaction_metadata: z.object({ user: z.object({ id }).optional() }).nullish(),
});

const envelope = {
  id,
  application_id: id,
  token: z.string().min(1),
  channel_id: id.optional(),
  guild_id: id.optional(),
  member: z
    .object({ user: userSchema, nick: z.string().nullish(), roles: z.array(id), permissions: rightsSchema })
    .optional(),
  user: userSchema.optional(),
  locale: z.string().optional(),
  app_permissions: rightsSchema.optional(),
  attachment_size_limit: z.number().int().optional(),
  /** Whose installation it came through: 0 a server's, 1 a person's. */
  authorizing_integration_owners: z.record(z.string(), z.string()).default({}),
};
const commandDataSchema = z.object({
  name: z.string(),
  type: z.number().int(),
  options: z.array(optionSchema).default([]),
  target_id: id.optional(),
  resolved: z
    .object({
      attachments: attachmentsSchema,
      messages: z.record(z.string(), z.object({ content: z.string().default('') })).optional(),
    })
    .optional(),
});
const fieldSchema = z.object({
  type: z.number().int().optional(),
  custom_id: z.string(),
  value: z.string().optional(),
  values: z.array(z.string()).optional(),
});
const formDataSchema = z.object({
  custom_id: z.string(),
  components: z.array(z.object({ component: fieldSchema.optional() })).default([]),
  resolved: z.object({ attachments: attachmentsSchema }).optional(),
});
const payloadSchema = z.discriminatedUnion('type', [
  z.object({ ...envelope, type: z.literal(interactionType.command), data: commandDataSchema }),
  z.object({ ...envelope, type: z.literal(interactionType.autocomplete), data: commandDataSchema }),
  z.object({
    ...envelope,
    type: z.literal(interactionType.component),
    message: pressedMessageSchema,
    data: z.object({
      custom_id: z.string(),
      component_type: z.number().int(),
      values: z.array(z.string()).default([]),
    }),
  }),
  z.object({
    ...envelope,
    type: z.literal(interactionType.modal),
    data: formDataSchema,
  }),
]);

export interface IncomingFile {
  name: string;
  /** Bytes, as Discord counted them. */
  size: number;
  url: string;
  /** The media type, as the sender's client told it. */
  type: string | null;
}

/** Who did it, where, and what an answer is addressed to. */
export interface Origin {
  id: string;
  token: string;
  application: string;
  user: string;
  name: string;
  /** That of their client; none where Discord does not say. */
  locale: string | undefined;
  channel: string | null;
  /** Null in a direct message. */
  server: { id: string; roles: readonly string[]; permissions: bigint } | null;
  /** False where only the person has installed the bot, and not the server it was said in. */
  installed: boolean;
  /** What the bot may do in this channel. */
  mayHere: bigint;
  /** Bytes that one attached file may have. */
  fileLimit: number;
}

interface ButtonMessage {
  id: string;
  ephemeral: boolean;
  /** Who asked for it; null for what nobody asked for. */
  askedBy: string | null;
  attachments: readonly { id: string; filename: string; description: string | null }[];
}

export type Incoming = Origin &
  (
    | {
        kind: 'command';
        command: string;
        /** Empty for a command that does one thing. */
        action: string;
        options: Readonly<Record<string, string>>;
        files: Readonly<Record<string, IncomingFile>>;
      }
    | { kind: 'menu'; command: string; content: string }
    | {
        kind: 'completion';
        command: string;
        action: string;
        option: string;
        typed: string;
      }
    /** `also`: what else was chosen in a menu of which several entries can be. */
    | { kind: 'button'; customId: string; also: readonly string[]; message: ButtonMessage }
    | {
        kind: 'form';
        customId: string;
        fields: Readonly<Record<string, string>>;
        files: Readonly<Record<string, IncomingFile>>;
      }
  );

/** Discord's own default limit for uploads, where a payload does not tell it ("Uploading Files"): 10 MiB. */
const FILE_LIMIT = 10 * 1024 * 1024;
const EPHEMERAL_FLAG = 1 << 6;

function originOf(payload: z.infer<typeof payloadSchema>): Origin | null {
  const { member, guild_id: server } = payload;
  const user = member?.user ?? payload.user;
  if (!user) return null;
  return {
    id: payload.id,
    token: payload.token,
    application: payload.application_id,
    user: user.id,
    name: member?.nick || user.global_name || user.username,
    locale: payload.locale,
    channel: payload.channel_id ?? null,
    server:
      server !== undefined && member
        ? { id: server, roles: member.roles, permissions: member.permissions }
        : null,
    installed: server === undefined || payload.authorizing_integration_owners['0'] === server,
    mayHere: payload.app_permissions ?? 0n,
    fileLimit: payload.attachment_size_limit ?? FILE_LIMIT,
  };
}

/** The action, and the options below it. */
function actionOf(options: readonly RawOption[]): { action: string; given: readonly RawOption[] } {
  const [first] = options;
  return first?.type === optionType.subcommand
    ? { action: first.name, given: first.options ?? [] }
    : { action: '', given: options };
}

/** Null for a payload that this surface does not understand, such as a kind that is new. */
export function readIncoming(raw: unknown): Incoming | null {
  const read = payloadSchema.safeParse(raw);
  if (!read.success) return null;
  const payload = read.data;
  const origin = originOf(payload);
  if (!origin) return null;
  switch (payload.type) {
    case interactionType.command:
      return payload.data.type === commandType.message
        ? {
            ...origin,
            kind: 'menu',
            command: payload.data.name,
            content: payload.data.resolved?.messages?.[payload.data.target_id ?? '']?.content ?? '',
          }
        : { ...origin, kind: 'command', command: payload.data.name, ...givenIn(payload.data) };
    case interactionType.autocomplete: {
      const { action, given } = actionOf(payload.data.options);
      const focused = given.find((one) => one.focused === true);
      return focused
        ? {
            ...origin,
            kind: 'completion',
            command: payload.data.name,
            action,
            option: focused.name,
            typed: String(focused.value ?? ''),
          }
        : null;
    }
    case interactionType.component: {
      const { flags = 0, interaction_metadata: asked, attachments } = payload.message;
      const { custom_id, component_type, values } = payload.data;
      return {
        ...origin,
        kind: 'button',
        // An entry of a menu carries what a button would.
        customId: component_type === componentType.select ? (values[0] ?? '') : custom_id,
        also: component_type === componentType.select ? values.slice(1) : [],
        message: {
          id: payload.message.id,
          ephemeral: (flags & EPHEMERAL_FLAG) !== 0,
          askedBy: asked?.user?.id ?? null,
          attachments: attachments.map(({ description, ...one }) => ({
            ...one,
            description: description ?? null,
          })),
        },
      };
    }
    case interactionType.modal:
      return {
        ...origin,
        kind: 'form',
        customId: payload.data.custom_id,
        ...filledIn(payload.data),
      };
  }
}

const fileOf = ({ filename, size, url, content_type }: z.infer<typeof attachmentSchema>): IncomingFile => ({
  name: filename,
  size,
  url,
  type: content_type ?? null,
});

/** What stands in the fields of a form, and what was uploaded into it ("File Upload": the ids of what is resolved). */
function filledIn({ components, resolved }: z.infer<typeof formDataSchema>) {
  const fields: Record<string, string> = {};
  const files: Record<string, IncomingFile> = {};
  for (const { component } of components) {
    if (!component) continue;
    const { type, custom_id: name, value, values = [] } = component;
    if (type !== componentType.upload) fields[name] = value ?? values.join(', ');
    const file = type === componentType.upload ? resolved?.attachments?.[values[0] ?? ''] : undefined;
    if (file) files[name] = fileOf(file);
  }
  return { fields, files };
}

function givenIn(data: z.infer<typeof commandDataSchema>) {
  const { action, given } = actionOf(data.options);
  const options: Record<string, string> = {};
  const files: Record<string, IncomingFile> = {};
  for (const { name, type, value } of given) {
    const file = type === optionType.attachment ? data.resolved?.attachments?.[String(value)] : undefined;
    if (file) files[name] = fileOf(file);
    else if (value !== undefined) options[name] = String(value);
  }
  return { action, options, files };
}

/** What is needed to say that a payload was not understood; null when not even that can be read. */
export function addressOf(raw: unknown): { id: string; token: string; type: number } | null {
  return z.object({ id, token: z.string(), type: z.number() }).safeParse(raw).data ?? null;
}
