/**
 * The weekly post in a channel, once. Every try has the same nonce, which Discord remembers for some minutes, and the
 * message carries a mark by which it is found in the channel after that.
 */

import { createHash } from 'node:crypto';
import { z } from 'zod';
import { languageAt } from '../../../commands/framework/place-language.ts';
import type { Reply } from '../../../commands/framework/reply.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { renderAsText } from '../text-render.ts';
import type { Poster } from '../weekly-poster.ts';
import { discordCodeOf, errorCode, paths } from './api.ts';
import { type DrawFile, makeFiles } from './files.ts';
import { messagesOf, type OutgoingMessage, plainMessage } from './outgoing.ts';
import { DISCORD } from './requester.ts';
import { type Rest, retry } from './rest.ts';
import {
  allRights,
  CHANNEL_GONE,
  chosenFor,
  leaveChannel,
  missingRights,
  type RightsIn,
  rightsAdvice,
} from './weekly-channel.ts';

/** A post that no try can bring about until somebody changes something; the stewards have been told what. */
class CannotPost extends Error {
  constructor(why: string) {
    super(why);
    this.name = 'CannotPost';
  }
}

const toldKey = (channel: string): string => `told:${channel}`;

const digest = (key: string): string => createHash('sha256').update(`post ${key}`).digest('base64url');
/** The nonce of a post: 25 characters at most. */
export const nonceOf = (key: string): string => digest(key).slice(0, 24);
/** The mark of a post in its footer. */
export const markOf = (key: string): string => `ref ${digest(key).slice(24, 36)}`;

const sentSchema = z.object({ id: z.string() });
const messageSchema = z.object({
  id: z.string(),
  author: z.object({ id: z.string() }),
  embeds: z.array(z.object({ footer: z.object({ text: z.string() }).optional() })),
});
const historySchema = z.array(messageSchema);
const MARK = /ref [\w-]{12}$/;
const HISTORY = new URLSearchParams({ limit: '100' });
const UPLOAD_LIMIT = 10 * 1024 * 1024;
/** The command that a post's choices are steps of. */
const COMMAND = 'week';

export interface DiscordPosterParts {
  database: Database;
  rest: Rest;
  clock: () => Date;
  /** The bot's own id. */
  self: () => string | null;
  drawFile: DrawFile;
  rightsIn: RightsIn;
  nameOfChannel: (channel: string) => string;
  /** Whose server it is; null when that is not known. */
  ownerOf: (server: string) => string | null;
  onFault: (error: unknown) => string;
}

const PERMANENT: readonly number[] = [
  errorCode.unknownChannel,
  errorCode.missingAccess,
  errorCode.missingRights,
];

export function postersOf(parts: DiscordPosterParts): (channel: string) => Poster {
  const { database, rest, clock, self, drawFile, rightsIn, nameOfChannel, ownerOf, onFault } = parts;
  const { channelBindings, surfaceState } = database;

  const find = async (channel: string, key: string): Promise<string | null> => {
    const mark = markOf(key);
    const history = historySchema.parse(
      await retry(() => rest.get(paths.messages(channel), { query: HISTORY })),
    );
    const found = history.find(
      ({ author, embeds }) =>
        author.id === self() && embeds.some(({ footer }) => footer?.text.endsWith(mark) ?? false),
    );
    return found?.id ?? null;
  };

  /** The post on one message; one that is longer has all of its words in an attached file too. */
  const draw = async (reply: Reply, mark: string): Promise<OutgoingMessage> => {
    const { files, notes } = await makeFiles(reply, drawFile, UPLOAD_LIMIT, onFault);
    const shown = { command: COMMAND, request: null };
    const [whole, ...more] = messagesOf(reply, files, shown, { notes, mark });
    if (!whole) throw new Error('a reply without a page');
    if (!more.length) return whole;
    const data = Buffer.from(renderAsText(reply, { width: 80, colour: false }));
    const text = {
      name: 'whole-post.txt',
      data,
      description: render(say`The whole post as text`, reply.language),
    };
    const [first] = messagesOf(reply, [...files, text], shown, { notes, mark });
    return first ? { ...first, body: withoutPageCount(first.body, mark, reply.language) } : whole;
  };

  /** Sends a direct message to the first of them who takes one; false when nobody does. */
  const tell = async (people: readonly string[], words: string): Promise<boolean> => {
    for (const person of people) {
      try {
        const { id } = sentSchema.parse(
          await retry(() => rest.post(paths.directs(), { body: { recipient_id: person } })),
        );
        await rest.post(paths.messages(id), { body: plainMessage(words).body });
        return true;
      } catch (error) {
        if (discordCodeOf(error) === null) onFault(error);
      }
    }
    return false;
  };

  /** Tells those who can change it, once for each thing that is wrong. */
  const tellOnce = async (channel: string, code: number, words: string): Promise<void> => {
    const saved = `${code} ${words}`;
    if (surfaceState.get(DISCORD, toldKey(channel)) === saved) return;
    const { by, server } = chosenFor(database, channel) ?? { by: null, server: null };
    const owner = server === null ? null : ownerOf(server);
    const people = [by, owner].filter((one): one is string => one !== null);
    if (!(await tell([...new Set(people)], words))) onFault(new CannotPost(words));
    surfaceState.set(DISCORD, toldKey(channel), saved, clock());
  };

  const adviceFor = (channel: string, code: number): string => {
    const language = languageAt(database, DISCORD, channel, '');
    if (code === errorCode.unknownChannel) return render(CHANNEL_GONE, language);
    const granted = rightsIn(channel);
    const missing = granted === null ? allRights : missingRights(granted);
    return render(
      say`The weekly post could not be sent. ${rightsAdvice(nameOfChannel(channel), missing.length ? missing : allRights)}`,
      language,
    );
  };

  /** Runs a request in a channel; what only people can change is told to them, and thrown as CannotPost. */
  const inChannel = async <T>(channel: string, work: () => Promise<T>): Promise<T> => {
    leaveIfMoved(channel);
    try {
      const done = await work();
      surfaceState.delete(DISCORD, toldKey(channel));
      return done;
    } catch (error) {
      const code = discordCodeOf(error);
      if (code === null || !PERMANENT.includes(code)) throw error;
      const words = adviceFor(channel, code);
      await tellOnce(channel, code, words);
      throw new CannotPost(words);
    }
  };

  /** A server that joined another collective does not go on reading the posts of the one before. */
  const leaveIfMoved = (channel: string): void => {
    const place = channelBindings.bindingOf(DISCORD, channel);
    const chosen = chosenFor(database, channel);
    const home = chosen && channelBindings.bindingOf(DISCORD, chosen.server);
    if (!place || (home && home.collective === place.collective)) return;
    leaveChannel(database, channel);
    throw new CannotPost(render(say`The server of this channel belongs to another collective now.`));
  };

  const send = async (channel: string, key: string, reply: Reply): Promise<string> => {
    const { body, files } = await draw(reply, markOf(key));
    return retry(async (again) => {
      // Whether an earlier try arrived is looked up: after some minutes the nonce alone would not tell.
      const there = again ? await find(channel, key) : null;
      if (there !== null) return there;
      const sent = await rest.post(paths.messages(channel), {
        body: { ...body, nonce: nonceOf(key), enforce_nonce: true },
        ...(files.length ? { files: files.map(({ name, data }) => ({ name, data })) } : {}),
      });
      return sentSchema.parse(sent).id;
    });
  };

  return (channel) => ({
    post: (key, reply) =>
      inChannel(channel, async () => (await find(channel, key)) ?? (await send(channel, key, reply))),
    find: (key) => inChannel(channel, () => find(channel, key)),
    edit: (message, reply) =>
      inChannel(channel, async () => {
        // The mark has to stay; the key is not given, so it is read from the message itself.
        const { body, files } = await draw(reply, await markOn(channel, message));
        await retry(() =>
          rest.patch(paths.message(channel, message), {
            body: { ...body, attachments: body.attachments ?? [] },
            ...(files.length ? { files: files.map(({ name, data }) => ({ name, data })) } : {}),
          }),
        );
      }),
  });

  async function markOn(channel: string, message: string): Promise<string> {
    const { embeds } = messageSchema.parse(await retry(() => rest.get(paths.message(channel, message))));
    const footer = embeds.flatMap((embed) => embed.footer?.text ?? []).at(-1);
    return MARK.exec(footer ?? '')?.[0] ?? '';
  }
}

/** A post is one message: in the place of a count of pages, which would promise others, it says where the rest is. */
function withoutPageCount(
  body: OutgoingMessage['body'],
  mark: string,
  language: string,
): OutgoingMessage['body'] {
  const text = [render(say`The rest is in the attached file`, language), ...(mark ? [mark] : [])].join(' · ');
  return {
    ...body,
    embeds: body.embeds.map(({ footer, ...embed }) => (footer ? { ...embed, footer: { text } } : embed)),
  };
}
