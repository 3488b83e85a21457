/** The channels that the weekly post goes to: who chose each, in which server, and what it needs there. */

import { z } from 'zod';
import { Refusal } from '../../../commands/framework/refusal.ts';
import type { Message } from '../../../shared/language/message.ts';
import { counted, listWords, say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { POSTABLE, rights, THREADS } from './api.ts';
import { DISCORD } from './requester.ts';

const chosenSchema = z.object({ server: z.string(), by: z.string() });
/** The server that a channel is in, and the person who chose it. */
export type Chosen = z.infer<typeof chosenSchema>;
const keyOf = (channel: string): string => `weekly:${channel}`;

/** Null for a channel that was not chosen. */
export function chosenFor({ surfaceState }: Database, channel: string): Chosen | null {
  const saved = surfaceState.get(DISCORD, keyOf(channel));
  return saved === null ? null : chosenSchema.parse(JSON.parse(saved));
}

/** The weekly post of a collective goes there from now on. */
export function chooseChannel(
  { channelBindings, surfaceState }: Database,
  channel: string,
  collective: number,
  chosen: Chosen,
  at: Date,
): void {
  channelBindings.bind({ platform: DISCORD, id: channel, collective, kind: 'room' }, at);
  channelBindings.setWeekly(DISCORD, channel, true);
  surfaceState.set(DISCORD, keyOf(channel), JSON.stringify(chosen), at);
}

export function leaveChannel({ channelBindings, surfaceState }: Database, channel: string): void {
  channelBindings.unbind(DISCORD, channel);
  surfaceState.delete(DISCORD, keyOf(channel));
}

/** The channels of a server that a collective's post goes to. */
export const channelsIn = (database: Database, server: string, collective: number): string[] =>
  database.channelBindings
    .weeklyBindings(collective)
    .filter(({ platform, id }) => platform === DISCORD && chosenFor(database, id)?.server === server)
    .map(({ id }) => id);

/** What the bot may do in a channel, as far as it can be told without asking Discord; null when the channel is not known. */
export type RightsIn = (channel: string) => bigint | null;

/** What is known of a channel: its type ("Channel Types"), its server, and what a thread belongs to; null when it is not known. */
export type ChannelAt = (channel: string) => { type: number; server: string; parent: string | null } | null;

/** Refuses a channel that the weekly post cannot go to: of another server, a thread, a forum. */
export function checkPostable(
  channelAt: ChannelAt,
  channel: string,
  server: string,
  nameOf: (id: string) => string,
): void {
  const found = channelAt(channel);
  if (!found || (found.server === server && POSTABLE.includes(found.type))) return;
  const parent = THREADS.includes(found.type) && found.parent !== null ? found.parent : null;
  const instead = parent !== null && POSTABLE.includes(channelAt(parent)?.type ?? -1) ? parent : null;
  throw new Refusal({
    code: 'bad-option',
    problem:
      found.server !== server
        ? say`${verbatim(nameOf(channel))} is in another server.`
        : say`The weekly post cannot go to ${verbatim(nameOf(channel))}: it needs a channel for text or announcements.`,
    expected: say`a channel of this server for text or announcements, no thread and no forum`,
    option: 'channel',
    choices:
      instead === null
        ? []
        : [
            {
              label: verbatim(nameOf(instead)),
              invoke: { command: 'server', action: 'weekly', options: { channel: instead } },
            },
          ],
  });
}

/** What a post with a picture needs, by the names that Discord's settings give them. */
const needed: readonly (readonly [right: bigint, name: string])[] = [
  [rights.view, 'View Channel'],
  [rights.send, 'Send Messages'],
  [rights.embed, 'Embed Links'],
  [rights.attach, 'Attach Files'],
  [rights.history, 'Read Message History'],
];
export const allRights: readonly string[] = needed.map(([, name]) => name);

/** Names of the rights that are missing for a post. */
export const missingRights = (granted: bigint): string[] =>
  granted & rights.administrator ? [] : needed.flatMap(([right, name]) => (granted & right ? [] : [name]));

export const CHANNEL_GONE = say`The channel of the weekly post is not there any more. Choose another with /server weekly in the server.`;

/** What to change where rights are missing. */
export const rightsAdvice = (channel: string, missing: readonly string[]): Message =>
  counted(
    missing.length,
    "In {1} I am missing the right {2}. In the channel's settings, under Permissions, allow it for my role.",
    "In {1} I am missing the rights {2}. In the channel's settings, under Permissions, allow them for my role.",
    verbatim(channel),
    listWords(missing.map((one) => verbatim(one))),
  );
