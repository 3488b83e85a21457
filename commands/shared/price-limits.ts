/** What no price, and no day on which one was seen, can be. */

import { say } from '../../shared/language/say.ts';
import { amount, fromMajor, type Money, toMajor } from '../../shared/money/money.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import type { ModelRecord } from '../../shared/store/index.ts';
import { Refusal } from '../framework/refusal.ts';

/** No phone that a bench would see was sold before this day. Chosen. */
export const FIRST_SOLD = '1995-01-01';
/** No phone costs more than this many bench hours, whatever is said of it. Chosen. */
const MOST_HOURS = 1000;

/** The first day on which a price of a model can have been seen. */
export const earliestOf = (model: ModelRecord | null): string =>
  model?.launched && model.launched > FIRST_SOLD ? model.launched : FIRST_SOLD;

/** Refuses a price of nothing, and one that no phone has. */
export function checkPrice(price: Money, option: string): void {
  if (price.minor === 0)
    throw new Refusal({
      code: 'bad-option',
      option,
      problem: say`A price of nothing tells nothing.`,
      expected: say`a price above 0`,
    });
  const most = fromMajor(MOST_HOURS * toMajor(referenceHour(price.currency).rate), price.currency);
  if (price.minor <= most.minor) return;
  throw new Refusal({
    code: 'bad-option',
    option,
    problem: say`No phone costs ${amount(price)}.`,
    expected: say`a price of at most ${amount(most)}`,
  });
}
