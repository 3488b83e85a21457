/**
 * Which cautions are said whole and which in a line. Warnings that are repeated unchanged lose attention within days (Kim &
 * Wogalter 2009; Vance et al. 2017; Ancker et al. 2017), so the whole card is shown once for each phone and person.
 */
import type { Caution } from '../../knowledge/schema.ts';

/** After this long a caution is said whole again. */
const WHOLE_AGAIN_MS = 12 * 3600 * 1000;
/** Most whole cards in one reply, besides those that are never shortened. */
const MOST_WHOLE = 3;

export interface Said {
  whole: Caution[];
  brief: Caution[];
}

/**
 * Sorts the cautions of a reply, in the order given. A caution without a short form is never shortened. `shown`: when each
 * was last said whole to this person for this phone, by id.
 */
export function wholeOrBrief(
  cautions: readonly Caution[],
  shown: ReadonlyMap<string, Date>,
  now: Date,
): Said {
  const said: Said = { whole: [], brief: [] };
  let room = MOST_WHOLE;
  for (const caution of cautions) {
    const last = shown.get(caution.id);
    const fresh = last !== undefined && now.getTime() - last.getTime() < WHOLE_AGAIN_MS;
    if (caution.neverShort || caution.short === undefined) said.whole.push(caution);
    else if (fresh || room === 0) said.brief.push(caution);
    else {
      said.whole.push(caution);
      room -= 1;
    }
  }
  return said;
}
