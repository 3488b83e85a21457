/** Changes the bot's own messages later: takes removed words out of them, and choices away. */
import { LRUCache } from 'lru-cache';
import { z } from 'zod';
import { languageOf } from '../../../commands/framework/place-language.ts';
import { render } from '../../../shared/language/render.ts';
import type { Database, MessagePlace, Removal, RemovalPlace } from '../../../shared/store/index.ts';
import { type Mended, type MessageHands, removedWords } from '../chat-messages.ts';
import { holdsWords, wordsTakenOut } from '../removed-words.ts';
import { componentType, discordCodeOf, errorCode, NO_MENTIONS, paths } from './api.ts';
import { escapeInline } from './escape.ts';
import type { Origin } from './incoming.ts';
import { isPicture } from './outgoing.ts';
import { type Rest, retry } from './rest.ts';

const embedSchema = z.object({
  title: z.string().optional(),
  description: z.string().optional(),
  color: z.number().optional(),
  footer: z.object({ text: z.string() }).optional(),
  image: z.object({ url: z.string() }).optional(),
});
const optionSchema = z.object({ label: z.string(), value: z.string() });
const componentSchema = z.looseObject({
  type: z.number(),
  custom_id: z.string().optional(),
  label: z.string().optional(),
  options: z.array(optionSchema).optional(),
});
const rowSchema = z.looseObject({ type: z.number(), components: z.array(componentSchema).default([]) });
const attachmentSchema = z.object({
  id: z.string(),
  filename: z.string(),
  description: z.string().nullish(),
});
const messageSchema = z.object({
  content: z.string().default(''),
  embeds: z.array(embedSchema).default([]),
  components: z.array(rowSchema).default([]),
  attachments: z.array(attachmentSchema).default([]),
});
type Standing = z.infer<typeof messageSchema>;
type Embed = z.infer<typeof embedSchema>;

/** Of a message that answers an interaction for its asker alone: for so long it can be changed, by the interaction's token. */
const TOKEN_MS = 15 * 60_000;
const MOST_TOKENS = 1000;

const GONE: readonly number[] = [errorCode.unknownMessage, errorCode.unknownChannel];
const DENIED: readonly number[] = [errorCode.missingAccess, errorCode.missingRights];
const HOOK_OVER: readonly number[] = [errorCode.unknownWebhook, errorCode.invalidToken];

/** A caution's card: what it says is the pack's. "◆ DANGER: Swollen cell". */
const isCaution = ({ title = '' }: Embed): boolean => /^[◆▲] \p{Lu}+: /u.test(title);

/** Null where the message shows none of the words. Without the words, all that may show them. */
function bodyWithout(message: Standing, words: readonly string[] | null, removed: string) {
  const mark = `[${escapeInline(removed)}]`;
  const without = (text: string): string => (words ? (wordsTakenOut(text, words, mark) ?? text) : mark);
  const embeds = message.embeds.map((embed): Embed => {
    if (!words && isCaution(embed)) return embed;
    const { title, description, footer } = embed;
    return {
      ...embed,
      ...(title === undefined ? {} : { title: without(title).slice(0, 256) }),
      ...(description === undefined ? {} : { description: without(description).slice(0, 4096) }),
      ...(footer ? { footer: words ? { text: without(footer.text) } : footer } : {}),
    };
  });
  // The cautions' lines are the pack's.
  const content = words ? without(message.content).slice(0, 2000) : message.content;
  const shown = (one: z.infer<typeof componentSchema>): string[] => [
    one.label ?? '',
    ...(one.options ?? []).map(({ label }) => label),
  ];
  const tapped =
    !words ||
    message.components.some(({ components }) =>
      components.flatMap(shown).some((label) => holdsWords(label, words)),
    );
  const attachments = message.attachments.filter(({ filename }) => isPicture(filename));
  const changed =
    content !== message.content ||
    tapped ||
    attachments.length !== message.attachments.length ||
    embeds.some((embed, index) => JSON.stringify(embed) !== JSON.stringify(message.embeds[index]));
  if (!changed) return null;
  return {
    content,
    embeds: embeds.map((embed) => withOwnPicture(embed, attachments)),
    ...(tapped ? { components: [] } : {}),
    attachments: attachments.map(({ id, filename, description }) => ({
      id,
      filename,
      ...(description ? { description } : {}),
    })),
    allowed_mentions: NO_MENTIONS,
  };
}

/** A picture that hangs on the message is named as such; its address on the platform is for looking at. */
function withOwnPicture(embed: Embed, attachments: Standing['attachments']): Embed {
  const own = attachments.find(({ filename }) => embed.image?.url.split('?')[0]?.endsWith(`/${filename}`));
  return own ? { ...embed, image: { url: `attachment://${own.filename}` } } : embed;
}

/** A button, or a menu, that takes a saved choice. */
const isChoice = ({ custom_id = '', options = [] }: z.infer<typeof componentSchema>): boolean =>
  custom_id.startsWith('c|') || (options.length > 0 && options.every(({ value }) => value.startsWith('c|')));

/** The rows without choices: what turns pages and shows more stays. */
const rowsWithoutChoices = ({ components }: Pick<Standing, 'components'>) =>
  components.flatMap((row) => {
    const left = row.components.filter((one) => !isChoice(one));
    return left.length ? [{ type: componentType.row, components: left.map(({ id: _, ...one }) => one) }] : [];
  });

export interface DiscordHandsParts {
  database: Database;
  rest: Rest;
  clock: () => Date;
}

export class DiscordHands implements MessageHands {
  private readonly parts: DiscordHandsParts;
  private readonly tokens = new LRUCache<string, Pick<Origin, 'application' | 'token'> & { until: number }>({
    max: MOST_TOKENS,
  });

  constructor(parts: DiscordHandsParts) {
    this.parts = parts;
  }

  /** A message for one person alone can be changed as long as the token of its interaction is good. In memory only. */
  keepToken(message: string, { application, token }: Pick<Origin, 'application' | 'token'>): void {
    this.tokens.set(message, { application, token, until: this.parts.clock().getTime() + TOKEN_MS });
  }

  readonly mend = async (removal: Removal, place: RemovalPlace): Promise<Mended> => {
    const { database, rest } = this.parts;
    const removed = render(removedWords(removal), languageOf(database, removal.collective));
    const { path, auth } = this.pathOf(place);
    try {
      const { standing, words } = await this.look(path, auth, removal.words);
      const body = bodyWithout(standing, words, removed);
      if (!body) return 'untouched';
      await retry(() => rest.patch(path, { body, auth }));
      return 'mended';
    } catch (error) {
      const code = discordCodeOf(error) ?? 0;
      // What was shown to one person alone in a channel can be reached by its interaction only.
      if (HOOK_OVER.includes(code)) return 'beyond';
      if (GONE.includes(code)) return place.person === null ? 'gone' : 'beyond';
      if (DENIED.includes(code)) return 'denied';
      throw error;
    }
  };

  readonly retire = async (place: MessagePlace): Promise<void> => {
    const { rest } = this.parts;
    const path = paths.message(place.channel, place.message);
    try {
      const standing = messageSchema.parse(await retry(() => rest.get(path)));
      if (!standing.components.some((row) => row.components.some(isChoice))) return;
      const body = { components: rowsWithoutChoices(standing), allowed_mentions: NO_MENTIONS };
      await retry(() => rest.patch(path, { body }));
    } catch (error) {
      const code = discordCodeOf(error) ?? 0;
      // Nobody can press what is gone; where the bot may not change it, a press tells that it is old.
      if (!GONE.includes(code) && !DENIED.includes(code)) throw error;
    }
  };

  private pathOf({ channel, message }: MessagePlace): { path: `/${string}`; auth: boolean } {
    const kept = this.tokens.get(message);
    return kept && kept.until > this.parts.clock().getTime()
      ? { path: paths.hookMessage(kept.application, kept.token, message), auth: false }
      : { path: paths.message(channel, message), auth: true };
  }

  /** As it stands there. Where it may not be read it is changed all the same, as if it had the words. */
  private async look(
    path: `/${string}`,
    auth: boolean,
    words: readonly string[] | null,
  ): Promise<{ standing: Standing; words: readonly string[] | null }> {
    try {
      return { standing: messageSchema.parse(await retry(() => this.parts.rest.get(path, { auth }))), words };
    } catch (error) {
      if (discordCodeOf(error) !== errorCode.missingRights) throw error;
      const blank = { content: '', embeds: [{ description: '' }], components: [], attachments: [] };
      return { standing: blank, words: null };
    }
  }
}
