/** Prices out of line, which their teller is asked about before they are kept. */

import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { fixed, percentOf, say, verbatim } from '../../shared/language/say.ts';
import {
  type Doubt,
  doubts,
  type PriceScreen,
  priceScreen,
  screenPartPrice,
} from '../../shared/market/screen.ts';
import { amount, fromMajor, moneyWire, toMajor, toWire } from '../../shared/money/money.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import type { NewSighting } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { economicsFor, MOST_SIGHTINGS, phoneSightingOf, tellerOf } from '../shared/appraise-phone.ts';
import { familyById } from '../shared/phone.ts';

export const doubtSchema = z.object({
  why: z.enum(doubts),
  /** What such a price was expected to be: 10 %, 50 % and 90 %; null where nothing is known. */
  expected: z.object({ low: moneyWire, median: moneyWire, high: moneyWire }).nullable(),
  /** The price over the median expected; null likewise. */
  ratio: z.number().nullable(),
  /** How many others have told a price of it. */
  others: z.number().int(),
});

/** Why a price is asked about. */
export interface Doubted {
  price: NewSighting;
  why: Doubt;
  expected: PriceScreen['expected'];
  ratio: number | null;
  others: number;
}

const DAYS_A_MONTH = 31;

/**
 * Those of new prices that are out of line with what was told before, or with the others of the same file; null where a
 * price is in line. Prices of one kind and month are held against the same expectation.
 */
export function doubtsIn(context: Context, fresh: readonly NewSighting[]): (Doubted | null)[] {
  const models = new Map<number, (one: NewSighting) => Doubted | null>();
  return fresh.map((one) => {
    const known = models.get(one.model);
    const screen =
      known ??
      screenOf(
        context,
        one,
        fresh.filter(({ model }) => model === one.model),
      );
    models.set(one.model, screen);
    return screen(one);
  });
}

/** How prices of the model of this one are judged; `file`: all that are told of it together. */
function screenOf(
  context: Context,
  { model: id, by }: NewSighting,
  file: readonly NewSighting[],
): (one: NewSighting) => Doubted | null {
  const { store, collective } = context;
  const model = store.models.get(id);
  const own = tellerOf({ by });
  if (!model || !context.knowledge.families.has(model.family)) return () => null;
  const before = (kind: 'phone' | 'part') => store.sightings.list({ model: id, kind, limit: MOST_SIGHTINGS });
  const hour = toMajor(referenceHour(collective.settings.currency).rate);
  const othersIn = (seen: readonly NewSighting[]) =>
    new Set(seen.map(tellerOf).filter((teller) => teller !== own)).size;
  // One price says nothing of itself; among many of a file it may stand out.
  const together = file.length > 1 ? file.filter(({ kind }) => kind === 'phone') : [];
  const kept = before('phone');
  const sightings = [...together, ...kept].slice(0, MOST_SIGHTINGS).map(phoneSightingOf);
  const screens = new Map<string, (price: number) => PriceScreen>();
  const ofPhone = (one: NewSighting): Doubted | null => {
    const at = new Date(`${one.seen}T12:00:00Z`);
    const month = Math.floor(at.getTime() / (DAYS_A_MONTH * 24 * 3600 * 1000));
    const key = JSON.stringify([one.grade, one.how, one.storage, file.length > 1 ? month : one.seen]);
    const screen =
      screens.get(key) ??
      priceScreen({
        price: phoneSightingOf(one),
        sightings,
        hour,
        model: {
          ...(model.launched ? { launched: new Date(`${model.launched}T00:00:00Z`) } : {}),
          ...(model.newPrice ? { newPrice: toMajor(model.newPrice) } : {}),
        },
      });
    screens.set(key, screen);
    const { doubt, expected, ratio } = screen(toMajor(one.price));
    return doubt && { price: one, why: doubt, expected, ratio, others: othersIn(kept) };
  };
  let economics: ReturnType<typeof economicsFor> | undefined;
  const ofPart = (one: NewSighting): Doubted | null => {
    const { component, partGrade } = one;
    if (component === null || partGrade === null) return null;
    economics ??= economicsFor(context, {
      name: verbatim(model.name),
      family: familyById(context, model.family),
      model,
    });
    const seen = before('part').filter((other) => other.component === component);
    const others = othersIn(seen);
    // Without a price of the phone its parts are a guess; what others saw of the part is none.
    if (economics.standIn && !others) return null;
    const { low, price: median, high } = economics.part(component, partGrade, own);
    const price = toMajor(one.price);
    const why = screenPartPrice(price, { low, high });
    return why && { price: one, why, expected: { low, median, high }, ratio: price / median, others };
  };
  return (one) => (one.kind === 'part' ? ofPart(one) : ofPhone(one));
}

export const doubtDataOf = ({
  price,
  why,
  expected,
  ratio,
  others,
}: Doubted): z.infer<typeof doubtSchema> => {
  const wire = (sum: number) => toWire(fromMajor(sum, price.price.currency));
  return {
    why,
    expected: expected && {
      low: wire(expected.low),
      median: wire(expected.median),
      high: wire(expected.high),
    },
    ratio,
    others,
  };
};

/** "4 times what others paid". */
export function doubtInWords({ why, ratio, others, price }: Doubted): Message {
  if (why === 'above-new') return say`well over its price when new`;
  if (why === 'no-phone-so-cheap') return say`less than any phone is worth`;
  if (why === 'no-phone-so-dear') return say`more than any used phone is worth`;
  const times = ratio ?? 1;
  const asked = price.how === 'asked';
  if (times < 1) {
    const share = percentOf(Math.max(0.01, times));
    if (!others) return say`${share} of what is expected for it`;
    return asked ? say`${share} of what others ask` : say`${share} of what others paid`;
  }
  const factor = fixed(times, times < 3 ? 1 : 0);
  if (!others) return say`${factor} times what is expected for it`;
  return asked ? say`${factor} times what others ask` : say`${factor} times what others paid`;
}

/** What is expected, as a range. */
export function expectedInWords({ expected, price, why }: Doubted): Message | null {
  if (!expected || why === 'no-phone-so-cheap' || why === 'no-phone-so-dear') return null;
  const show = (sum: number) => amount(fromMajor(sum, price.price.currency));
  return say`Expected: about ${show(expected.median)} (${show(expected.low)} to ${show(expected.high)}).`;
}

/** Off by a digit or two it would be in line: what was probably meant. */
export function slipOf({ price, expected }: Doubted): NewSighting['price'] | null {
  if (!expected) return null;
  const told = toMajor(price.price);
  const meant = [0.1, 10, 0.01, 100].find((by) => told * by >= expected.low && told * by <= expected.high);
  return meant === undefined ? null : fromMajor(told * meant, price.price.currency);
}
