/**
 * Threads of jobs on Discord: in a text channel a message, which is the card, with a thread on it; in a forum a post that begins with
 * the card, with a tag for its state. Either has the id of the card. Source: Discord's developer documentation, "Threads".
 */
import { z } from 'zod';
import type { Reply } from '../../../commands/framework/reply.ts';
import { render } from '../../../shared/language/render.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { CannotKeepCard, type CardPlace, type JobCard, type JobThreads } from '../job-cards.ts';
import { discordCodeOf, errorCode, FORUM, paths } from './api.ts';
import { clip } from './escape.ts';
import { channelSchema, tagFor } from './forum-tags.ts';
import { cardMessage } from './job-card-message.ts';
import { allJobRights, missingJobRights } from './job-channel.ts';
import { markOf, nonceOf } from './poster.ts';
import { DISCORD } from './requester.ts';
import { type Rest, retry } from './rest.ts';
import { tellFirst } from './tell-first.ts';
import { type RightsIn, rightsAdvice } from './weekly-channel.ts';

const sentSchema = z.object({ id: z.string() });
const madeSchema = z.object({ id: z.string(), message: sentSchema });
const marked = z.object({
  id: z.string(),
  author: z.object({ id: z.string() }),
  embeds: z.array(z.object({ footer: z.object({ text: z.string() }).optional() })),
});
const activeSchema = z.object({
  threads: z.array(
    z.object({
      id: z.string(),
      name: z.string(),
      parent_id: z.string().nullish(),
      owner_id: z.string().nullish(),
    }),
  ),
});
const HISTORY = new URLSearchParams({ limit: '100' });
const WEEK_MINUTES = 10_080;
const MOST_NAME = 100;

export interface JobThreadsParts {
  database: Database;
  rest: Rest;
  clock: () => Date;
  self: () => string;
  rightsIn: RightsIn;
  nameOfChannel: (channel: string) => string;
  /** Whose server it is; null when that is not known. */
  ownerOf: (server: string) => string | null;
  asTyped: (reply: Reply, server: string | null) => Reply;
  onFault: (error: unknown) => void;
}

export class DiscordJobThreads implements JobThreads {
  private readonly parts: JobThreadsParts;
  private readonly forums = new Map<string, { forum: boolean; server: string | null }>();
  /** The state that each post was last tagged with. */
  private readonly tagged = new Map<string, JobCard['state']>();

  constructor(parts: JobThreadsParts) {
    this.parts = parts;
  }

  readonly open = (channel: string, card: JobCard, again: boolean): Promise<CardPlace> =>
    this.helped(channel, card, async () => {
      const { forum, server } = await this.kindOf(channel);
      return forum
        ? this.openPost(channel, server, card, again)
        : this.openThread(channel, server, card, again);
    });

  readonly edit = (place: CardPlace, card: JobCard, reopened: boolean): Promise<void> =>
    this.helped(place.channel, card, async () => {
      const { forum, server } = await this.kindOf(place.channel);
      if (reopened) await this.takeOut(place, card);
      const body = { ...this.bodyOf(card, server), attachments: [] };
      const path = paths.message(forum ? place.thread : place.channel, place.card);
      try {
        await retry(() => this.parts.rest.patch(path, { body }));
      } catch (error) {
        if (discordCodeOf(error) !== errorCode.archived) throw error;
        // It was quiet for so long that Discord put it away: what moves is taken out again.
        await this.takeOut(place, card);
        await retry(() => this.parts.rest.patch(path, { body }));
      }
      await this.mark(place, card, forum);
    });

  readonly tell = async (collective: number, words: string): Promise<void> => {
    const { database, ownerOf, onFault, clock } = this.parts;
    const key = toldOfJobs(collective);
    if (database.surfaceState.get(DISCORD, key) === words) return;
    const found = database.collectives.find(collective);
    const chosen = found && database.of(found).jobPosts.channelOf(DISCORD);
    const by = chosen?.by.key?.startsWith(`${DISCORD}:`) ? chosen.by.key.slice(DISCORD.length + 1) : null;
    const owner = chosen?.server ? ownerOf(chosen.server) : null;
    const people = [...new Set([by, owner].filter((one): one is string => one !== null))];
    if (!(await tellFirst(this.parts, people, words))) onFault(new CannotKeepCard(words));
    database.surfaceState.set(DISCORD, key, words, clock());
  };

  private bodyOf(card: JobCard, server: string | null) {
    return cardMessage(card, (reply) => this.parts.asTyped(reply, server));
  }

  private async kindOf(channel: string): Promise<{ forum: boolean; server: string | null }> {
    const known = this.forums.get(channel);
    if (known) return known;
    const { type, guild_id } = channelSchema.parse(
      await retry(() => this.parts.rest.get(paths.channel(channel))),
    );
    const kind = { forum: type === FORUM, server: guild_id ?? null };
    this.forums.set(channel, kind);
    return kind;
  }

  private async openThread(
    channel: string,
    server: string | null,
    card: JobCard,
    again: boolean,
  ): Promise<CardPlace> {
    const { rest } = this.parts;
    const nonce = { nonce: nonceOf(`${card.key} ${card.stamp}`), enforce_nonce: true };
    const body = { ...this.bodyOf(card, server), ...nonce };
    const id = await retry(async (cut) => {
      const there = again || cut ? await this.standing(channel, card) : null;
      return there ?? sentSchema.parse(await rest.post(paths.messages(channel), { body })).id;
    });
    try {
      const name = clip(card.name, MOST_NAME);
      const thread = { name, auto_archive_duration: WEEK_MINUTES };
      await retry(() => rest.post(paths.threadOn(channel, id), { body: thread }));
    } catch (error) {
      // A try before has made it.
      if (discordCodeOf(error) !== errorCode.threadThere) throw error;
    }
    return { channel, thread: id, card: id };
  }

  private async openPost(
    forum: string,
    server: string | null,
    card: JobCard,
    again: boolean,
  ): Promise<CardPlace> {
    const { rest } = this.parts;
    const tag = await tagFor(rest, forum, card);
    const body = {
      name: clip(card.name, MOST_NAME),
      auto_archive_duration: WEEK_MINUTES,
      message: this.bodyOf(card, server),
      ...(tag === null ? {} : { applied_tags: [tag] }),
    };
    const id = await retry(async (cut) => {
      const there = again || cut ? await this.standingPost(forum, server, card) : null;
      return there ?? madeSchema.parse(await rest.post(paths.threadsOf(forum), { body })).id;
    });
    this.tagged.set(id, card.state);
    return { channel: forum, thread: id, card: id };
  }

  /** The card that a try before has sent. */
  private async standing(channel: string, { key }: JobCard): Promise<string | null> {
    const history = z
      .array(marked)
      .parse(await retry(() => this.parts.rest.get(paths.messages(channel), { query: HISTORY })));
    return history.find((one) => this.isOurs(one, key))?.id ?? null;
  }

  private async standingPost(forum: string, server: string | null, card: JobCard): Promise<string | null> {
    const { rest, self } = this.parts;
    if (server === null) return null;
    const { threads } = activeSchema.parse(await retry(() => rest.get(paths.activeThreads(server))));
    const own = threads.filter(
      ({ parent_id, owner_id, name }) =>
        parent_id === forum && owner_id === self() && name === clip(card.name, MOST_NAME),
    );
    for (const { id } of own) {
      const first = marked.safeParse(await retry(() => rest.get(paths.message(id, id)))).data;
      if (first && this.isOurs(first, card.key)) return id;
    }
    return null;
  }

  private isOurs({ author, embeds }: z.infer<typeof marked>, key: string): boolean {
    return author.id === this.parts.self() && embeds.some(({ footer }) => footer?.text.includes(markOf(key)));
  }

  private async change(thread: string, body: object): Promise<void> {
    await retry(() => this.parts.rest.patch(paths.channel(thread), { body }));
  }

  /** Opens a thread that was put away. In a text channel the card is not in it, and does without. */
  private async takeOut({ channel, thread }: CardPlace, card: JobCard): Promise<void> {
    try {
      await this.change(thread, { archived: false });
    } catch (error) {
      const code = discordCodeOf(error);
      if (code === null) throw error;
      if (!this.forums.get(channel)?.forum) return;
      const words = this.adviceFor(
        code === errorCode.missingRights ? errorCode.threadLocked : code,
        channel,
        card,
      );
      throw words === null ? error : new CannotKeepCard(words);
    }
  }

  /** The tag of its state, and put away when the job is closed. */
  private async mark({ channel, thread }: CardPlace, card: JobCard, forum: boolean): Promise<void> {
    const closed = card.state === 'closed';
    const moved = forum && this.tagged.get(thread) !== card.state;
    const tag = moved ? await tagFor(this.parts.rest, channel, card) : null;
    const tags = tag === null ? {} : { applied_tags: [tag] };
    const change = { ...tags, ...(closed ? { archived: true } : {}) };
    if (!Object.keys(change).length) return;
    try {
      await this.change(thread, change);
      this.tagged.set(thread, card.state);
    } catch (error) {
      // The card is right. A thread on it that somebody took away or locked is theirs.
      if (discordCodeOf(error) === null) throw error;
    }
  }

  /** What only people can change is thrown as words for them. */
  private async helped<T>(channel: string, card: JobCard, work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      const words = this.adviceFor(discordCodeOf(error) ?? 0, channel, card);
      if (words === null) throw error;
      this.forums.delete(channel);
      throw new CannotKeepCard(words);
    }
  }

  private adviceFor(code: number, channel: string, { name, reply }: JobCard): string | null {
    const { rightsIn, nameOfChannel } = this.parts;
    const where = verbatim(nameOfChannel(channel));
    const about = verbatim(name);
    const word = () => {
      switch (code) {
        case errorCode.unknownMessage:
          return say`The card of ${about} is gone. The job goes on without it; /server jobs makes it anew.`;
        case errorCode.unknownChannel:
          return rightsIn(channel) === null
            ? say`The channel of the jobs is not there any more. They go on without it; choose another with /server jobs in the server.`
            : say`The thread of ${about} is gone. The job goes on without it; /server jobs makes it anew.`;
        case errorCode.archived:
        case errorCode.threadLocked:
          return say`The thread of ${about} is closed or locked, and I may not open it. The job goes on without it; /server jobs makes one anew.`;
        case errorCode.mostThreads:
          return say`The server has as many threads as Discord allows, so ${about} got none. Archive some, then say /server jobs again.`;
        case errorCode.tagRequired:
          return say`The forum ${where} wants a tag on every post, and I may make none there. Give it a tag, or take that rule away; then say /server jobs again.`;
        case errorCode.missingAccess:
        case errorCode.missingRights: {
          const granted = rightsIn(channel);
          const missing = granted === null ? [] : missingJobRights(granted);
          const advice = rightsAdvice(nameOfChannel(channel), missing.length ? missing : allJobRights);
          return say`The jobs go on without their threads. ${advice} Then say /server jobs again.`;
        }
        default:
          return null;
      }
    };
    const message = word();
    return message && render(message, reply.language);
  }
}

/** Under what it is kept what was told of the jobs' threads last. */
export const toldOfJobs = (collective: number): string => `jobs-told:${collective}`;
