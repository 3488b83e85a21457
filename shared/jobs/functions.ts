/** What is tested on a phone of a family before it is closed for good. */

import { fits } from '../../knowledge/features.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family, PhoneFunction } from '../../knowledge/schema.ts';

/** In the order they are gone through; the closing ones (the seal) come last. */
export function functionsOf({ functions }: Pick<Knowledge, 'functions'>, family: Family): PhoneFunction[] {
  const own = [...functions.values()].filter(
    (one) => fits(family, one) && one.components.some((component) => component in family.components),
  );
  return [...own.filter(({ closing }) => !closing), ...own.filter(({ closing }) => closing)];
}
