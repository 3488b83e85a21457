/** The word that asks for what stands behind the last reply, where there is no button for it. */
import { languages } from '../../shared/language/locale.ts';
import { render } from '../../shared/language/render.ts';
import { say } from '../../shared/language/say.ts';

/** In any of the languages, with or without a slash. */
export const isMoreWord = (text: string): boolean => {
  const word = text.trim().replace(/^\//, '').toLowerCase();
  // A line of several words is none; the files of other languages need not be read for it.
  if (/\s/.test(word)) return false;
  return languages.some((language) => render(say`more`, language) === word);
};
