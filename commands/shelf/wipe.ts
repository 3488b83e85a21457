/** `/shelf wipe`: from whom a part came, where it lies and what became of it are removed for good; the part stays. */
import { z } from 'zod';
import { say } from '../../shared/language/say.ts';
import type { LoggedMove, ShelfPart } from '../../shared/shelf/part.ts';
import { defineAction } from '../framework/command.ts';
import { needs } from '../shared/needs.ts';
import { partMeant } from '../shared/shelf-part.ts';
import { type Written, wiped, wordsToWipe } from '../shared/wipe-words.ts';
import { partHeading, partOption } from './options.ts';

const shelfWipedData = z.object({ wiped: z.object({ part: z.number().int() }) });

type PartWords = Written & ({ field: 'supplier' | 'place' } | { seq: number });

/** Where it lies was said by who moved it last, else by who put it there. */
function writtenOf({ supplier, place, by }: ShelfPart, moves: readonly LoggedMove[]): PartWords[] {
  const moved = moves.flatMap(({ seq, move, by: mover }): (PartWords & { seq: number; lies: boolean })[] => {
    const lies = 'place' in move;
    const text = lies ? move.place : move.kind === 'gone' ? move.why : '';
    return text ? [{ seq, by: mover, text, lies }] : [];
  });
  const placed = moved.findLast(({ lies }) => lies);
  return [
    { field: 'supplier', by, text: supplier },
    { field: 'place', by: placed?.by ?? by, text: place },
    ...moved,
  ];
}

export const shelfWipe = defineAction({
  summary: say`Remove your words about a part for good, with every copy here; a steward removes all`,
  who: 'member',
  options: { part: partOption },
  needs: [needs.part],
  examples: ['/shelf wipe 7'],

  data: shelfWipedData,
  refuses: ['not-found', 'wrong-state'],
  run: ({ part: number }, context) => {
    const { store } = context;
    const part = partMeant(context, number);
    const record = `part:${number}`;
    const words = wordsToWipe(context, record, writtenOf(part, store.shelf.moves(number)), 'part');
    store.shelf.wipe(number, {
      fields: words.flatMap((one) => ('field' in one ? [one.field] : [])),
      moves: words.flatMap((one) => ('seq' in one ? [one.seq] : [])),
    });
    return wiped(context, {
      record,
      words,
      subject: record,
      besides: part.job === null ? [] : [`job:${part.job}`],
      title: say`${partHeading(context, part)}: its words are removed`,
      data: { wiped: { part: number } } satisfies z.infer<typeof shelfWipedData>,
    });
  },
});
