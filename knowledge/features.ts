/** Which statements of the pack reach a family: by the features it has. */
import type { Family } from './schema.ts';

/** True when a family has all the features in `with` and none of those in `without`. */
export const fits = (
  family: Family,
  { with: all = [], without: none = [] }: { with?: string[] | undefined; without?: string[] | undefined },
): boolean =>
  all.every((feature) => family.features.includes(feature)) &&
  !none.some((feature) => family.features.includes(feature));
