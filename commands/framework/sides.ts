/**
 * The two sides of a reply. The front is what is shown at once: new hazards in a line each, dangers whole, the answer, and
 * what can be answered. The back is what stands behind it: the cautions whole, why, handling, law, sources, whole tables. It
 * is shown to who asks for it. Pure; each surface draws both.
 */
import { withLocale } from '../../shared/language/locale.ts';
import { render } from '../../shared/language/render.ts';
import { say } from '../../shared/language/say.ts';
import type { CautionCard, Reply } from './reply.ts';

/** The line of a card, with what it is called before the colon as its name. Of an old reply that was said before: as it is. */
function inALine(card: CautionCard): CautionCard {
  const { line = card.lead } = card;
  const [, head = card.name, rest = line] = /^([^:.;]{1,40}): (.+)$/s.exec(line) ?? [];
  return { ...card, name: head, lead: rest, points: [], brief: true };
}

/** A card that a line may stand for. */
const isShort = ({ line, brief }: CautionCard): boolean => line !== undefined || brief === true;

/** The id of the card that those share that were said before. */
export const AS_BEFORE = 'as-before';

/** Of "Charging: stay with it; stop if it warms." what must not be forgotten: "Charging: stop if it warms." */
const whenToStop = (line: string): string => line.replace(/^([^:;]{1,40}: )[^;]*; (?=.)/s, '$1');

/** Those that were said before, in one card: of each when to stop. */
function asBefore(said: readonly CautionCard[]): CautionCard[] {
  if (!said.length) return [];
  const tone = said.some((card) => card.tone === 'danger') ? 'danger' : 'caution';
  const lead = said.map(({ line, lead: whole }) => whenToStop(line ?? whole)).join(' ');
  return [{ id: AS_BEFORE, name: render(say`As before`), tone, lead, points: [], brief: true }];
}

/** Whether anything stands on the back. A refusal has none. */
export const hasBack = ({ outcome, blocks, cautions }: Reply): boolean =>
  outcome === 'answered' && (blocks.some(({ back }) => back === true) || cautions.some(isShort));

/** What is shown at once. Without a back it is the reply whole. */
export function frontOf(reply: Reply): Reply {
  if (!hasBack(reply)) return wholeOf(reply);
  const fresh = reply.cautions.filter(({ brief }) => !brief);
  return {
    ...reply,
    cautions: [
      ...fresh.filter((card) => !isShort(card)),
      ...fresh.filter(isShort).map(inALine),
      ...withLocale(reply.language, () => asBefore(reply.cautions.filter(({ brief }) => brief))),
    ],
    blocks: reply.blocks.filter(({ back }) => !back),
    sources: [],
  };
}

/** What stands behind it, for who asked alone; null where nothing does. All cautions are whole on it. */
export function backOf(reply: Reply): Reply | null {
  if (!hasBack(reply)) return null;
  return {
    ...reply,
    audience: 'asker',
    cautions: reply.cautions.map(({ brief: _, line: __, ...card }) => card),
    blocks: reply.blocks.filter(({ back }) => back === true).map((block) => ({ ...block, back: false })),
    choices: [],
    files: [],
  };
}

/** Both sides at once, where nothing more can be asked for. What was said before is in a line. */
export const wholeOf = (reply: Reply): Reply => ({
  ...reply,
  cautions: reply.cautions.map((card) => (card.brief ? inALine(card) : card)),
});
