/** How what is said is put into words: in a locale, with the pack's own translation. */
import type { Knowledge } from '../../knowledge/load.ts';
import { languageIn } from '../../shared/language/locale.ts';
import type { Rendering } from '../../shared/language/render.ts';

/** For `renderReply` and `render`. */
export const renderingIn = (knowledge: Pick<Knowledge, 'translations'>, locale: string): Rendering => {
  const packTexts = knowledge.translations.get(languageIn(locale))?.texts;
  return { locale, ...(packTexts ? { packTexts } : {}) };
};
