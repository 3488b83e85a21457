/**
 * Loads at a start what a bot would load later, so that it goes on until it is stopped when its files are replaced or removed
 * meanwhile, as by an update.
 */
import { papa } from '../shared/csv/csv.ts';
import { catalogue } from '../shared/language/catalogue.ts';
import { languages } from '../shared/language/locale.ts';
import { luxon } from '../shared/time/zone.ts';
import { loadLazyParts } from './draw/lazy-parts.ts';

/** `platforms` and `drawing` load what is theirs; drawing does so in a thread of its own. */
export async function loadAhead(
  platforms: readonly (() => Promise<unknown>)[],
  drawing: () => Promise<void>,
): Promise<void> {
  await Promise.all([drawing(), ...platforms.map((load) => load())]);
  papa();
  luxon();
  for (const language of languages) catalogue(language);
  loadLazyParts();
}
