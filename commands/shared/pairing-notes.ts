/** What is known of swapping a component, in lines: pack and reports side by side. */

import type { Family } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { atStart, counted, joined, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import { chanceWord, effectWords, noStatement, pairingOf } from '../../shared/pairing/pairing.ts';
import { type Counted, countReports } from '../../shared/pairing/reports.ts';
import type { SwapRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { wipedLines } from './wipe-words.ts';
import { componentName, partGradeWords, percent } from './words.ts';

/** A swap report in one line. */
export function swapInWords(context: Context, swap: SwapRecord): Message {
  const name = componentName(context, swap.component);
  const board = swap.board === 'same' ? say`back on its own board` : say`on another board`;
  const parts = [
    plain`${name}, ${partGradeWords[swap.grade]}, ${board}: ${effectWords[swap.effect]}`,
    ...(swap.saw ? [say`saw: ${verbatim(swap.saw)}`] : []),
    ...(swap.mended ? [say`mended by: ${verbatim(swap.mended)}`] : []),
    ...(swap.aside
      ? [
          swap.aside.why
            ? say`set aside by ${verbatim(swap.aside.by.name)}: ${verbatim(swap.aside.why)}`
            : say`set aside by ${verbatim(swap.aside.by.name)}`,
        ]
      : []),
    ...wipedLines(context, `report:${swap.number}`),
  ];
  return joined(parts, '; ');
}

const timesWords = ({ seen, tried }: Counted): Message =>
  counted(tried, '{1} of {0} swap reported here', '{1} of {0} swaps reported here', seen);

/** What is known of swapping a component, in lines: pack and reports side by side, and where they do not agree. */
export function countedLines(counted: readonly Counted[]): Message[] {
  return counted
    .filter(({ tried }) => tried > 0)
    .map((one) => {
      const { effect, statement, chance, conflict } = one;
      const pack = statement
        ? say`the pack says ${percent(statement.likely)}, worth ${statement.strength} swaps`
        : say`the pack does not name it`;
      return say`${atStart(effectWords[effect])}: ${timesWords(one)}; ${pack}; together ${percent(chance)}.${
        conflict ? say` They do not agree: trust what you see on this phone.` : ''
      }`;
    });
}

/** For other commands: what a swap of the component does, what mends it, and what was seen here. */
export function pairingNotes(context: Context, family: Family, component: string): Message[] {
  const { knowledge, store } = context;
  const { statements } = pairingOf(knowledge, family, component);
  const counted = countReports(knowledge, family, component, store.swaps.countsOf(component));
  return [
    ...(statements.length
      ? statements.map(
          (one) =>
            say`${atStart(effectWords[one.effect])}, ${chanceWord(one.likely)} (about ${percent(one.likely)}): ${packText(one.loses)} ${packText(one.mends)}`,
        )
      : [say`${noStatement} Test it before closing.`]),
    ...countedLines(counted),
  ];
}
