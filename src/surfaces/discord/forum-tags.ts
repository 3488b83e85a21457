/** The tags of a forum that say how a job stands. */
import { z } from 'zod';
import { cardStateWords } from '../../../commands/job/card.ts';
import type { JobCard } from '../job-cards.ts';
import { discordCodeOf, paths } from './api.ts';
import { type Rest, retry } from './rest.ts';

const tagSchema = z.looseObject({ id: z.string(), name: z.string() });
export const channelSchema = z.object({
  type: z.number(),
  guild_id: z.string().optional(),
  available_tags: z.array(tagSchema).default([]),
});
type Tag = z.infer<typeof tagSchema>;

/** Discord's limits ("Forum Tag Object", "Channel Object"). */
const MOST = { tags: 20, name: 20 } as const;

const called = (tags: readonly Tag[], name: string): Tag | undefined =>
  tags.find((tag) => tag.name.trim().toLowerCase() === name.toLowerCase());

/** Of each state its name as a tag. */
const namesOf = ({ stateName }: Pick<JobCard, 'stateName'>): Map<string, string> =>
  new Map(
    Object.keys(cardStateWords).flatMap((state) =>
      isState(state) ? [[state, stateName(state).slice(0, MOST.name)] as const] : [],
    ),
  );
const isState = (text: string): text is JobCard['state'] => Object.hasOwn(cardStateWords, text);

/**
 * The tag of a card's state. Where the forum lacks tags of the states they are made, as far as the bot may and there is room; null where
 * there is none then: people may have tags of their own, which are left alone.
 */
export async function tagFor(rest: Rest, forum: string, card: JobCard): Promise<string | null> {
  const names = namesOf(card);
  const wanted = names.get(card.state) ?? '';
  const { available_tags: tags } = channelSchema.parse(await retry(() => rest.get(paths.channel(forum))));
  const found = called(tags, wanted);
  if (found) return found.id;
  const lacking = [...names.values()].filter((name) => !called(tags, name));
  const body = { available_tags: [...tags, ...lacking.map((name) => ({ name }))].slice(0, MOST.tags) };
  try {
    const made = channelSchema.parse(await retry(() => rest.patch(paths.channel(forum), { body })));
    return called(made.available_tags, wanted)?.id ?? null;
  } catch (error) {
    // Making tags is a right that the bot can do without.
    if (discordCodeOf(error) === null) throw error;
    return null;
  }
}
