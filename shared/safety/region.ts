/** Where a region lies: the codes whose rules reach it. */
import type { Regions } from '../../knowledge/schema.ts';

/**
 * An ISO 3166-2 code, its country, and EU for a member state, nearest first: US-OR, US. Nothing for an unset region.
 */
export function codesOf({ eu }: Pick<Regions, 'eu'>, region: string | null): string[] {
  if (region === null) return [];
  const [country = region] = region.split('-');
  return [...new Set([region, country, ...(eu.includes(country) ? ['EU'] : [])])];
}
