/**
 * The weekly post in a channel, once. Every try has the same nonce, which Discord remembers for some minutes, and the
 * message carries a mark by which it is found in the channel after that.
 */

import { createHash } from 'node:crypto';
import { z } from 'zod';
import { languageAt } from '../../../commands/framework/place-language.ts';
import type { Reply } from '../../../commands/framework/reply.ts';
import { frontOf, hasBack } from '../../../commands/framework/sides.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { renderAsText } from '../text-render.ts';
import type { Poster } from '../weekly-poster.ts';
import { discordCodeOf, errorCode, paths } from './api.ts';
import { type DrawFile, makeFiles } from './files.ts';
import { messagesOf, type OutgoingMessage } from './outgoing.ts';
import { DISCORD } from './requester.ts';
import { type Rest, retry } from './rest.ts';
import { tellFirst } from './tell-first.ts';
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
  /** A reply with its commands as they are typed here. */
  asTyped: (reply: Reply, server: string | null) => Reply;
}

const PERMANENT: readonly number[] = [
  errorCode.unknownChannel,
  errorCode.missingAccess,
  errorCode.missingRights,
];

export function postersOf(parts: DiscordPosterParts): (channel: string) => Poster {
  return (channel) => new ChannelPoster(parts, channel);
}

const filesIn = ({ files }: OutgoingMessage) =>
  files.length ? { files: files.map(({ name, data }) => ({ name, data })) } : {};

/** The front of the post on one message; all of its words are in an attached file too, where there are more. */
async function drawPost(
  { drawFile, onFault, asTyped }: DiscordPosterParts,
  reply: Reply,
  mark: string,
  server: string | null,
): Promise<OutgoingMessage> {
  const { files, notes } = await makeFiles(reply, drawFile, UPLOAD_LIMIT, onFault);
  const shown = { command: COMMAND, request: null };
  const front = asTyped(frontOf(reply), server);
  const [whole, ...more] = messagesOf(front, files, shown, { notes, mark });
  if (!whole) throw new Error('a reply without a page');
  if (!more.length && !hasBack(reply)) return whole;
  const data = Buffer.from(renderAsText(reply, { width: 80, colour: false }));
  const text = {
    name: 'whole-post.txt',
    data,
    description: render(say`The whole post as text`, reply.language),
  };
  const [first] = messagesOf(front, [...files, text], shown, { notes, mark });
  return first ? { ...first, body: withoutPageCount(first.body, mark, reply.language) } : whole;
}

class ChannelPoster implements Poster {
  private readonly parts: DiscordPosterParts;
  private readonly channel: string;

  constructor(parts: DiscordPosterParts, channel: string) {
    this.parts = parts;
    this.channel = channel;
  }

  private get server(): string | null {
    return chosenFor(this.parts.database, this.channel)?.server ?? null;
  }

  post(key: string, reply: Reply): Promise<string> {
    return this.inChannel(async () => (await this.standing(key)) ?? (await this.send(key, reply)));
  }

  find(key: string): Promise<string | null> {
    return this.inChannel(() => this.standing(key));
  }

  edit(message: string, reply: Reply): Promise<void> {
    return this.inChannel(async () => {
      // The mark has to stay; the key is not given, so it is read from the message itself.
      const drawn = await drawPost(this.parts, reply, await this.markOn(message), this.server);
      const body = { ...drawn.body, attachments: drawn.body.attachments ?? [] };
      await retry(() =>
        this.parts.rest.patch(paths.message(this.channel, message), { body, ...filesIn(drawn) }),
      );
    });
  }

  private async standing(key: string): Promise<string | null> {
    const { rest, self } = this.parts;
    const mark = markOf(key);
    const history = historySchema.parse(
      await retry(() => rest.get(paths.messages(this.channel), { query: HISTORY })),
    );
    const found = history.find(
      ({ author, embeds }) =>
        author.id === self() && embeds.some(({ footer }) => footer?.text.endsWith(mark) ?? false),
    );
    return found?.id ?? null;
  }

  private async send(key: string, reply: Reply): Promise<string> {
    const drawn = await drawPost(this.parts, reply, markOf(key), this.server);
    const body = { ...drawn.body, nonce: nonceOf(key), enforce_nonce: true };
    return retry(async (again) => {
      // Whether an earlier try arrived is looked up: after some minutes the nonce alone would not tell.
      const there = again ? await this.standing(key) : null;
      if (there !== null) return there;
      const sent = await this.parts.rest.post(paths.messages(this.channel), { body, ...filesIn(drawn) });
      return sentSchema.parse(sent).id;
    });
  }

  private async markOn(message: string): Promise<string> {
    const { rest } = this.parts;
    const { embeds } = messageSchema.parse(await retry(() => rest.get(paths.message(this.channel, message))));
    const footer = embeds.flatMap((embed) => embed.footer?.text ?? []).at(-1);
    return MARK.exec(footer ?? '')?.[0] ?? '';
  }

  /** Runs a request in the channel; what only people can change is told to them, and thrown as CannotPost. */
  private async inChannel<T>(work: () => Promise<T>): Promise<T> {
    this.leaveIfMoved();
    try {
      const done = await work();
      this.parts.database.surfaceState.delete(DISCORD, toldKey(this.channel));
      return done;
    } catch (error) {
      const code = discordCodeOf(error);
      if (code === null || !PERMANENT.includes(code)) throw error;
      const words = this.adviceFor(code);
      await this.tellOnce(code, words);
      throw new CannotPost(words);
    }
  }

  /** A server that joined another collective does not go on reading the posts of the one before. */
  private leaveIfMoved(): void {
    const { database } = this.parts;
    const place = database.channelBindings.bindingOf(DISCORD, this.channel);
    const chosen = chosenFor(database, this.channel);
    const home = chosen && database.channelBindings.bindingOf(DISCORD, chosen.server);
    if (!place || (home && home.collective === place.collective)) return;
    leaveChannel(database, this.channel);
    throw new CannotPost(render(say`The server of this channel belongs to another collective now.`));
  }

  private adviceFor(code: number): string {
    const { database, rightsIn, nameOfChannel } = this.parts;
    const language = languageAt(database, DISCORD, this.channel, '');
    if (code === errorCode.unknownChannel) return render(CHANNEL_GONE, language);
    const granted = rightsIn(this.channel);
    const missing = granted === null ? allRights : missingRights(granted);
    const advice = rightsAdvice(nameOfChannel(this.channel), missing.length ? missing : allRights);
    return render(say`The weekly post could not be sent. ${advice}`, language);
  }

  /** Tells those who can change it, once for each thing that is wrong. */
  private async tellOnce(code: number, words: string): Promise<void> {
    const { database, ownerOf, onFault, clock } = this.parts;
    const saved = `${code} ${words}`;
    if (database.surfaceState.get(DISCORD, toldKey(this.channel)) === saved) return;
    const { by, server } = chosenFor(database, this.channel) ?? { by: null, server: null };
    const owner = server === null ? null : ownerOf(server);
    const people = [by, owner].filter((one): one is string => one !== null);
    if (!(await tellFirst(this.parts, [...new Set(people)], words))) onFault(new CannotPost(words));
    database.surfaceState.set(DISCORD, toldKey(this.channel), saved, clock());
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
