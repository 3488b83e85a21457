/** Is a new price so far out of line that its teller is asked about it before it is kept? */
import { type MarketPrediction, type MarketQuestion, type PhoneSighting, predictMarket } from './predict.ts';
import { valueCdf } from './value.ts';

/**
 * Why to ask about a price before it is kept. `far-below`, `far-above`: a phone of that kind hardly ever sells for so little,
 * or so much. `above-new`: well over what the model cost when new. The last two: nothing is known of the model, but no phone
 * costs so little, or so much.
 */
export const doubts = [
  'far-below',
  'far-above',
  'above-new',
  'no-phone-so-cheap',
  'no-phone-so-dear',
] as const;
export type Doubt = (typeof doubts)[number];

export interface PriceScreen {
  /** Null: keep it without asking. */
  doubt: Doubt | null;
  /** What such a price was expected to be, major units: 10 %, 50 % and 90 %; null when nothing is known of the model. */
  expected: { low: number; median: number; high: number } | null;
  /** The price over the expected median; null likewise. */
  ratio: number | null;
  /** Chance of a price at least as far out on its side; 0 to 0.5, null likewise. */
  tail: number | null;
}

/** What a price is told of; its amount is not needed to know what is expected. */
export interface ScreenBasis extends Omit<MarketQuestion, 'query' | 'now'> {
  /** Condition, storage, day, asked or sold, and who tells it; it is not among the sightings, unless `within`. */
  price: Omit<PhoneSighting, 'price'>;
  /** Price of a bench hour in major units, which says what money is worth in this currency. */
  hour: number;
}
export interface ScreenQuestion extends ScreenBasis {
  /** The new price. */
  price: PhoneSighting;
}

/** Asked about when fewer than 1 in this many are further out on that side, and it is this many times off the middle. Chosen. */
const TAIL = 1 / 100;
const FACTOR = 1.6;
/** Nothing used costs more than this many times its price when new. Chosen; scarce models are asked about, not refused. */
const ABOVE_NEW = 1.25;
/** No phone is told of for less, or for more, than this many bench hours. Chosen. */
const FEWEST_HOURS = 1 / 50;
const MOST_HOURS = 100;

/**
 * Holds a new price against the predictive distribution of such a price (its condition, storage, day, asked or sold), once
 * with all sightings and once without those of the same person, so that what somebody told before does not vouch for what
 * they tell now. Pure: the caller asks, and keeps what is confirmed. Throws as `predictMarket` does.
 */
export const screenPrice = (question: ScreenQuestion): PriceScreen =>
  priceScreen(question)(question.price.price);

/** The same for many amounts of one kind: what is expected is worked out once. */
export function priceScreen({
  price,
  hour,
  sightings,
  ...question
}: ScreenBasis): (amount: number) => PriceScreen {
  const expectedFrom = (told: readonly PhoneSighting[]) =>
    predictMarket({
      ...question,
      sightings: told,
      now: price.at,
      query: {
        grade: price.grade,
        asked: price.asked,
        ...(price.storageLog2 === undefined ? {} : { storageLog2: price.storageLog2 }),
      },
    });
  const others = sightings.filter(({ by }) => by === undefined || by !== price.by);
  const expected = [
    expectedFrom(sightings),
    ...(others.length < sightings.length && others.length > 0 ? [expectedFrom(others)] : []),
  ].flatMap((one) => one ?? []);
  return (amount) => {
    const screens = expected.map((one) => heldAgainst(amount, one));
    const plain = screens[0] ?? { doubt: null, expected: null, ratio: null, tail: null };
    const screen = screens.find(({ doubt }) => doubt !== null) ?? plain;
    const { newPrice } = question.model;
    if (newPrice !== undefined && amount > ABOVE_NEW * newPrice) return { ...screen, doubt: 'above-new' };
    if (amount < FEWEST_HOURS * hour) return { ...screen, doubt: 'no-phone-so-cheap' };
    if (amount > MOST_HOURS * hour) return { ...screen, doubt: 'no-phone-so-dear' };
    return screen;
  };
}

function heldAgainst(amount: number, expected: MarketPrediction): PriceScreen {
  const { low, median, high } = expected;
  const ratio = amount / median;
  const below = valueCdf(expected, amount);
  const tail = Math.min(below, 1 - below);
  const far = tail < TAIL && Math.max(ratio, 1 / ratio) > FACTOR;
  return {
    doubt: far ? (ratio < 1 ? 'far-below' : 'far-above') : null,
    expected: { low, median, high },
    ratio,
    tail,
  };
}

/** A price of a part is asked about when it is this many times off either end of what is expected. Chosen. */
const PART_FACTOR = 3;

/** The same for the price of a part, against the range expected for it. Major units, `low` to `high`. */
export function screenPartPrice(price: number, { low, high }: { low: number; high: number }): Doubt | null {
  if (price * PART_FACTOR < low) return 'far-below';
  return price > PART_FACTOR * high ? 'far-above' : null;
}
