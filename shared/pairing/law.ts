/** The law that reaches a region on a day. Not legal advice; the pack says what each law does not reach. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Law } from '../../knowledge/schema.ts';
import { codesOf } from '../safety/region.ts';
import { isoDateIn } from '../time/calendar.ts';

/** `region`: none is set; `state`: the law differs within it, and `example` is a code that the pack knows. */
export type LawHint = { set: 'region' } | { set: 'state'; region: string; example: string };

export interface LawFor {
  inForce: readonly Law[];
  /** Each has a `from` that lies ahead; soonest first. */
  toCome: readonly Law[];
  /** Their first day is not in the pack: whether they are in force is not claimed. */
  undated: readonly Law[];
  /** How to get a fuller answer; null when the region is set finely enough. */
  hint: LawHint | null;
}

/**
 * Laws that reach a region (ISO 3166-1 or 3166-2; null: not set) on a day, first and last day included. A state's code
 * finds its own and its country's; a member state of the EU finds the EU's too.
 */
export function lawFor(
  { laws, regions }: Pick<Knowledge, 'laws' | 'regions'>,
  region: string | null,
  on: Date,
  topic?: Law['topic'],
  zone = 'UTC',
): LawFor {
  if (region === null) {
    return { inForce: [], toCome: [], undated: [], hint: { set: 'region' } };
  }
  const day = isoDateIn(zone, on);
  const codes = codesOf(regions, region);
  const onTopic = laws.filter((law) => topic === undefined || law.topic === topic);
  const found = onTopic.filter((law) => law.region.some((code) => codes.includes(code)));
  const notOver = found.filter(({ until }) => until === null || day <= until);
  const below = onTopic.flatMap((law) => law.region).find((code) => code.startsWith(`${region}-`));
  return {
    inForce: notOver.filter(({ from }) => from !== null && from <= day),
    toCome: notOver
      .filter(({ from }) => from !== null && from > day)
      .sort((a, b) => ((a.from ?? '') < (b.from ?? '') ? -1 : 1)),
    undated: notOver.filter(({ from }) => from === null),
    hint: below ? { set: 'state', region, example: below } : null,
  };
}
