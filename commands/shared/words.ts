/** Small wordings that several commands share. */

import type { Knowledge } from '../../knowledge/load.ts';
import type { Ground, PartGrade } from '../../knowledge/schema.ts';
import type { TranslatedList } from '../../knowledge/translation.ts';
import { languageIn } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import { formatted, instant, packText, percentOf, plain, say, verbatim } from '../../shared/language/say.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import type { Context } from '../framework/context.ts';
import type { Draft } from '../framework/reply.ts';

/** 0.137 as "14 %"; what is not nothing is never shown as 0 or 100 %. */
export const percent = (share: number): Message =>
  share > 0 && share < 0.005
    ? say`under 1 %`
    : share < 1 && share >= 0.995
      ? say`over 99 %`
      : percentOf(share);

/** The sources that grounds name, each once. */
export function sourcesOf(knowledge: Knowledge, grounds: readonly Ground[]): Draft['sources'] {
  const ids = new Set(grounds.flatMap((ground) => (typeof ground === 'string' ? [] : [ground.source])));
  return [...ids].flatMap((id) => {
    const source = knowledge.sources.get(id);
    return source
      ? [{ id, title: `${source.publisher}: ${source.title}${source.date ? ` (${source.date})` : ''}` }]
      : [];
  });
}

/** The calendar day of an instant where the collective is, as an ISO date. */
export const dayIn = ({ collective }: Context, instant: Date): string =>
  isoDateIn(collective.settings.zone, instant);

/** The same to be read; a surface may show it as the day that it was where the reader is. */
export const dayOf = (context: Context, at: Date): Message =>
  instant(at, 'day', verbatim(dayIn(context, at)));

/** The time of day of an instant where the collective is, "14:05". */
export const timeIn = ({ collective }: Context, instant: Date): string =>
  new Intl.DateTimeFormat('en-GB', {
    timeZone: collective.settings.zone,
    hour: '2-digit',
    minute: '2-digit',
  }).format(instant);

/** The name of a component, or of whatever else of the pack is asked for by id. */
export const componentName = ({ knowledge }: Context, id: string): Message =>
  packText(knowledge.components.get(id)?.name ?? id);

/** What a thing of the pack is also called, in the reader's language; the first few. */
export const otherNames = (
  { translations }: Pick<Knowledge, 'translations'>,
  file: TranslatedList,
  id: string,
  english: readonly string[],
): Message =>
  formatted((locale) =>
    (translations.get(languageIn(locale))?.names.get(`${file}/${id}`) ?? english).slice(0, 3).join(', '),
  );

/** What kind of part it is. */
export const partGradeWords: Readonly<Record<PartGrade, Message>> = {
  original: say`original`,
  refurbished: say`refurbished`,
  copy: say`copy`,
  used: say`used`,
};

/** Where a statement comes from: "Title, place", or that there is no source. */
export function groundWords({ knowledge }: Pick<Context, 'knowledge'>, ground: Ground): Message {
  if (ground === 'practice') return say`common practice, no source`;
  if (ground === 'memory') return say`from memory, not read again`;
  const source = knowledge.sources.get(ground.source);
  const title = verbatim(source?.title ?? ground.source);
  const place = ground.at === undefined ? title : plain`${title}, ${verbatim(ground.at)}`;
  if (source?.checked === 'reported') return say`${place} (as reported)`;
  return source?.checked === 'memory' ? say`${place} (from memory)` : place;
}
