/** What is known of swapping a component, in lines: pack and reports side by side. */
import type { Family } from '../../knowledge/schema.ts';
import { counted, say, translated } from '../../shared/language/say.ts';
import { chanceWord, effectWords, NO_STATEMENT, pairingOf } from '../../shared/pairing/pairing.ts';
import { type Counted, countReports } from '../../shared/pairing/reports.ts';
import type { SwapRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { percent } from './words.ts';

/** How likely an effect is, as people read it. */
export const chanceWords: Readonly<Record<string, string>> = {
  expect: 'expect',
  likely: 'likely',
  possible: 'possible',
  seldom: 'seldom',
};

/** A swap report in one line. */
export function swapInWords({ knowledge }: Context, swap: SwapRecord): string {
  const name = knowledge.components.get(swap.component)?.name ?? swap.component;
  return [
    `${name}, ${swap.grade}, ${swap.board === 'same' ? say`back on its own board` : say`on another board`}: ${translated(effectWords[swap.effect])}`,
    ...(swap.saw ? [`saw: ${swap.saw}`] : []),
    ...(swap.mended ? [say`mended by: ${swap.mended}`] : []),
    ...(swap.aside ? [say`set aside by ${swap.aside.by.name}: ${swap.aside.why}`] : []),
  ].join('; ');
}

const timesWords = ({ seen, tried }: Counted): string =>
  counted(tried, '{1} of {0} swap reported here', '{1} of {0} swaps reported here', seen);

/** What is known of swapping a component, in lines: pack and reports side by side, and where they do not agree. */
export function countedLines(counted: readonly Counted[]): string[] {
  return counted
    .filter(({ tried }) => tried > 0)
    .map((one) => {
      const { effect, statement, chance, conflict } = one;
      const pack = statement
        ? say`the pack says ${percent(statement.likely)}, worth ${statement.strength} swaps`
        : say`the pack does not name it`;
      return say`${capital(translated(effectWords[effect]))}: ${timesWords(one)}; ${pack}; together ${percent(chance)}.${
        conflict ? say` They do not agree: trust what you see on this phone.` : ''
      }`;
    });
}

/** For other commands: what a swap of the component does, what mends it, and what was seen here. */
export function pairingNotes(context: Context, family: Family, component: string): string[] {
  const { knowledge, store } = context;
  const { statements } = pairingOf(knowledge, family, component);
  const counted = countReports(knowledge, family, component, store.swaps.countsOf(component));
  return [
    ...(statements.length
      ? statements.map(
          (one) =>
            say`${capital(translated(effectWords[one.effect]))}, ${translated(chanceWords[chanceWord(one.likely)])} (about ${percent(one.likely)}): ${one.loses} ${one.mends}`,
        )
      : [say`${translated(NO_STATEMENT)} Test it before closing.`]),
    ...countedLines(counted),
  ];
}

export const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
