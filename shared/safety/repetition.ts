/**
 * Which cautions are new to a person and which were said. Warnings that are repeated unchanged lose attention within days
 * (Kim & Wogalter 2009; Vance et al. 2017; Ancker et al. 2017), so each is said once for each phone and person.
 */
import type { Caution } from '../../knowledge/schema.ts';

/** After this long a caution is new again. */
const NEW_AGAIN_MS = 12 * 3600 * 1000;

export interface Said {
  fresh: Caution[];
  said: Caution[];
}

/** Whether a line may stand for it. A suspect cell and liquid are always said whole. */
export const mayBeShort = ({ neverShort, short }: Caution): boolean => !neverShort && short !== undefined;

/**
 * Sorts the cautions of a reply, in the order given. What may not be shortened is always new. `shown`: when each was last
 * said to this person for this phone, by id.
 */
export function freshOrSaid(cautions: readonly Caution[], shown: ReadonlyMap<string, Date>, now: Date): Said {
  const isSaid = (caution: Caution): boolean => {
    const last = shown.get(caution.id);
    return mayBeShort(caution) && last !== undefined && now.getTime() - last.getTime() < NEW_AGAIN_MS;
  };
  return {
    fresh: cautions.filter((caution) => !isSaid(caution)),
    said: cautions.filter(isSaid),
  };
}
