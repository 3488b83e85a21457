/** What people call a country, in the languages that the bot reads and in its own. */
import { spellings } from '../../shared/words/tokens.ts';

/** The languages that words are read in (`knowledge/pack/words/`). */
const READ = ['en', 'de', 'nl', 'fr', 'es'] as const;

/**
 * What people say and Intl does not: alternative names of CLDR (`alt="short"`, `alt="variant"`, from memory), names before a change,
 * and parts that stand for the whole.
 */
const ALSO_CALLED: Readonly<Record<string, string>> = {
  AE: 'UAE, Emirates, VAE, Emirate, Emiratos, Émirats',
  BA: 'Bosnia, Bosnia-Herzegovina, Bosnien, Bosnië, Bosnie',
  BY: 'Byelorussia, Weißrussland, Wit-Rusland, Bielorrusia, Biélorussie',
  CD: 'Congo DRC, DR Congo, Democratic Republic of the Congo, Zaire',
  CG: 'Congo Republic, Republic of the Congo',
  CI: 'Ivory Coast, Elfenbeinküste, Costa de Marfil',
  CV: 'Cape Verde, Kap Verde, Kaapverdië',
  CZ: 'Czech Republic, Tschechische Republik, Tschechei, Tsjechische Republiek, République tchèque, República Checa',
  FK: 'Falklands, Malvinas',
  GB: 'UK, U.K., Great Britain, Britain, England, Scotland, Wales, Northern Ireland, Großbritannien, Schottland, Nordirland, Groot-Brittannië, Engeland, Schotland, Grande-Bretagne, Angleterre, Écosse, Gran Bretaña, Inglaterra, Escocia, VK',
  HK: 'Hong Kong, Hongkong',
  IE: 'Republic of Ireland, Eire, Irische Republik',
  KP: 'North Korea, Nordkorea',
  KR: 'South Korea, Korea, Südkorea',
  MD: 'Republic of Moldova, Moldavia, Moldawien',
  MK: 'Macedonia, Mazedonien',
  MM: 'Burma, Birma, Birmanie, Birmania',
  MO: 'Macau, Macao',
  NL: 'Holland, Hollande, Holanda, The Netherlands',
  NZ: 'Aotearoa',
  PS: 'Palestine, Palästina',
  RU: 'Russian Federation, Russische Föderation',
  SZ: 'Swaziland, Swasiland',
  TL: 'East Timor, Osttimor, Timor Oriental',
  TR: 'Turkey, Turkiye',
  TW: 'Taiwan',
  US: 'USA, U.S., U.S.A., America, United States of America, Amerika, Vereinigte Staaten von Amerika, Verenigde Staten van Amerika, VS, Amérique, États-Unis d’Amérique, Estados Unidos de América, EEUU, EE. UU., EUA',
  VA: 'Vatican, Vatikan, Vatikanstadt, Vaticaan, Vaticano',
};

const displayNames = new Map<string, Intl.DisplayNames>();
function nameIn(language: string, style: 'long' | 'short', code: string): string | undefined {
  const key = `${language} ${style}`;
  const made =
    displayNames.get(key) ?? new Intl.DisplayNames([language], { type: 'region', style, fallback: 'none' });
  displayNames.set(key, made);
  return made.of(code);
}

/** The language that most of a country speaks (CLDR's likely subtags, through Intl). */
const ownLanguage = (code: string): string => new Intl.Locale(`und-${code}`).maximize().language;

/** All that a country is called. */
export function namesOfCountry(code: string): string[] {
  const names = [
    ...READ.flatMap((language) => [nameIn(language, 'long', code), nameIn(language, 'short', code)]),
    nameIn(ownLanguage(code), 'long', code),
    ...(ALSO_CALLED[code] ?? '').split(', '),
  ];
  return [...new Set(names.filter((name): name is string => name !== undefined && name !== ''))];
}

const ARTICLES = /^(?:the|die|der|das|de|het|la|le|les|l|el|los|las)\s+/u;

/** How a name is compared: without capitals, accents, points, hyphens and an article; umlauts written out or not. */
export const countryKeys = (name: string): string[] =>
  spellings(name).map((spelt) =>
    spelt
      .replace(/\./g, '')
      .replace(/[^\p{L}\p{N}]+/gu, ' ')
      .trim()
      .replace(ARTICLES, ''),
  );
