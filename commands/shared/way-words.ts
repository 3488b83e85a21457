/** What the ways of dealing with a phone are called. */
import type { Message } from '../../shared/language/message.ts';
import { say } from '../../shared/language/say.ts';
import type { Way } from '../../shared/worth/verdict.ts';

export const wayWords: Readonly<Record<Way, Message>> = {
  restore: say`Restore`,
  'look-first': say`Look first`,
  strip: say`Strip`,
  'sell-as-is': say`Sell as it is`,
  'hand-on': say`Hand on first`,
  pass: say`Pass`,
};
