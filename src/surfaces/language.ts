import type { Language } from '../../shared/language/say.ts';
import type { Database } from '../../shared/store/index.ts';

/**
 * In which language somebody is spoken to: that of the place's collective, in a direct message that of their own. English where
 * the store cannot say, so that a store that fails can still be told of.
 */
export function languageAt(
  { places, collectives }: Database,
  platform: string,
  place: string | null,
  person: string,
): Language {
  try {
    const bound = place === null ? null : places.placeOf(platform, place);
    const collective = bound?.collective ?? places.homeOf(person);
    return (collective === null ? null : collectives.find(collective))?.settings.language ?? 'en';
  } catch {
    return 'en';
  }
}
