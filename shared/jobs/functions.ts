/** What is tested on a phone of a family before it is closed for good. */

import { fits } from '../../knowledge/features.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import { type Family, type PhoneFunction, type TestGroup, testGroups } from '../../knowledge/schema.ts';

/** In the order they are gone through: by group, the closing one (the seal) at the very end. */
export function functionsOf({ functions }: Pick<Knowledge, 'functions'>, family: Family): PhoneFunction[] {
  const own = [...functions.values()].filter(
    (one) => fits(family, one) && one.components.some((component) => component in family.components),
  );
  const rank = ({ group, closing }: PhoneFunction) =>
    testGroups.indexOf(group) + (closing ? testGroups.length : 0);
  return own.sort((a, b) => rank(a) - rank(b));
}

/** The functions of the first group that has any, in their order; empty where nothing is left. */
export function nextGroup(left: readonly PhoneFunction[]): { group: TestGroup; own: PhoneFunction[] } | null {
  const group = left[0]?.group;
  return group ? { group, own: left.filter((one) => one.group === group) } : null;
}
