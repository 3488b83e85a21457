/**
 * The numbers of Discord's API that this surface uses, and its paths. They are written down here so that discord.js is
 * loaded only when the surface is on. Source: Discord's developer documentation, API version 10, by its own headings.
 */

/** "Interaction Type". */
export const interactionType = { command: 2, component: 3, autocomplete: 4, modal: 5 } as const;
/** "Interaction Callback Type". */
export const callbackType = {
  message: 4,
  deferMessage: 5,
  deferUpdate: 6,
  update: 7,
  completions: 8,
  modal: 9,
} as const;
/** "Application Command Types" and "Application Command Option Type". */
export const commandType = { chat: 1, message: 3 } as const;
export const optionType = {
  subcommand: 1,
  text: 3,
  integer: 4,
  channel: 7,
  role: 8,
  number: 10,
  attachment: 11,
} as const;
/** "Interaction Context Types", "Application Integration Types". */
export const contextType = { server: 0, direct: 1 } as const;
export const installType = { server: 0, user: 1 } as const;
/** "Component Types", "Button Styles", "Text Input Styles". */
export const componentType = { row: 1, button: 2, select: 3, input: 4, label: 18, upload: 19 } as const;
export const PRIMARY = 1;
export const SECONDARY = 2;
export const DANGER = 4;
export const inputStyle = { line: 1, paragraph: 2 } as const;
/** "Channel Types" that the weekly post can go to: text and announcement. */
export const POSTABLE = [0, 5];
/** Those that are threads: of announcements, public, private. */
export const THREADS = [10, 11, 12];
/** Those in which jobs can have threads: text and announcement, and forums. */
export const FORUM = 15;
export const THREADABLE = [...POSTABLE, FORUM];
/** "Message Flags". */
export const EPHEMERAL = 1 << 6;

/** "Permissions": bits. */
export const rights = {
  administrator: 1n << 3n,
  manageServer: 1n << 5n,
  view: 1n << 10n,
  send: 1n << 11n,
  embed: 1n << 14n,
  attach: 1n << 15n,
  history: 1n << 16n,
  threads: 1n << 35n,
  sendInThreads: 1n << 38n,
} as const;

/** "JSON Error Codes". */
export const errorCode = {
  unknownChannel: 10003,
  unknownServer: 10004,
  unknownMember: 10007,
  unknownMessage: 10008,
  unknownWebhook: 10015,
  unknownInteraction: 10062,
  acknowledged: 40060,
  missingAccess: 50001,
  tagRequired: 40067,
  closed: 50007,
  missingRights: 50013,
  invalidToken: 50027,
  archived: 50083,
  threadThere: 160004,
  threadLocked: 160005,
  mostThreads: 160006,
} as const;

/** Nobody is ever pinged, whatever a text says. */
export const NO_MENTIONS: { parse: never[] } = { parse: [] };

type Path = `/${string}`;
export const paths = {
  callback: (id: string, token: string): Path => `/interactions/${id}/${token}/callback`,
  original: (application: string, token: string): Path =>
    `/webhooks/${application}/${token}/messages/@original`,
  followUp: (application: string, token: string): Path => `/webhooks/${application}/${token}`,
  /** A message that answers an interaction, by the interaction's token. */
  hookMessage: (application: string, token: string, message: string): Path =>
    `/webhooks/${application}/${token}/messages/${message}`,
  member: (server: string, user: string): Path => `/guilds/${server}/members/${user}`,
  server: (server: string): Path => `/guilds/${server}`,
  channel: (channel: string): Path => `/channels/${channel}`,
  messages: (channel: string): Path => `/channels/${channel}/messages`,
  message: (channel: string, message: string): Path => `/channels/${channel}/messages/${message}`,
  threadsOf: (channel: string): Path => `/channels/${channel}/threads`,
  threadOn: (channel: string, message: string): Path => `/channels/${channel}/messages/${message}/threads`,
  activeThreads: (server: string): Path => `/guilds/${server}/threads/active`,
  directs: (): Path => '/users/@me/channels',
  self: (): Path => '/users/@me',
  gateway: (): Path => '/gateway/bot',
  application: (): Path => '/applications/@me',
  /** Of one server, or everywhere. */
  commands: (application: string, server: string | null): Path =>
    server === null
      ? `/applications/${application}/commands`
      : `/applications/${application}/guilds/${server}/commands`,
} as const;

/** Discord's code of a refused request; null for anything else, such as a socket that was cut. */
export function discordCodeOf(error: unknown): number | null {
  if (!(error instanceof Error) || !('code' in error) || !('status' in error)) return null;
  return typeof error.code === 'number' ? error.code : null;
}

/** The HTTP status of an answer that was an error; null where no answer came. */
export function statusOf(error: unknown): number | null {
  if (!(error instanceof Error) || !('status' in error)) return null;
  return typeof error.status === 'number' ? error.status : null;
}
