/** In which language somebody is spoken to. English where the store cannot say, so that a store that fails can be told of. */
import type { Language } from '../../shared/language/locale.ts';
import type { Database } from '../../shared/store/index.ts';

/** The language of a collective, by its id or name. */
export function languageOf({ collectives }: Database, collective: number | string): Language {
  try {
    return collectives.find(collective)?.settings.language ?? 'en';
  } catch {
    return 'en';
  }
}

/** That of the place's collective; in a direct message that of the person's own. */
export function languageAt(
  database: Database,
  platform: string,
  place: string | null,
  person: string,
): Language {
  const { channelBindings } = database;
  try {
    const bound = place === null ? null : channelBindings.bindingOf(platform, place);
    const collective = bound?.collective ?? channelBindings.homeOf(person);
    return collective === null ? 'en' : languageOf(database, collective);
  } catch {
    return 'en';
  }
}
