/** What things cost and fetch for one phone: the numbers that tracing and worth share, each with its ground. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family, PartGrade } from '../../knowledge/schema.ts';
import type { CollectiveSettings } from '../collective/collective-settings.ts';
import { type MarketPrediction, type PhoneSighting, predictMarket } from '../market/predict.ts';
import { expectedMin, type LogStudentT } from '../market/value.ts';
import { fromMajor, toMajor } from '../money/money.ts';
import { referenceHour } from '../money/reference-hour.ts';
import { partEstimate } from './part-price.ts';

type InputGround = 'given' | 'collective' | 'published' | 'practice' | 'memory' | 'assumed' | 'computed';
interface EconomicsInput {
  name: string;
  value: string | number | boolean | null;
  ground: InputGround;
  note?: string;
}

/** A price seen for a part, in major units. */
export interface PartSighting {
  component: string;
  grade: PartGrade;
  price: number;
  /** Who told it, by their key; absent: somebody of their own. */
  by?: string;
}

export interface EconomicsQuestion {
  knowledge: Knowledge;
  family: Family;
  settings: CollectiveSettings;
  model?: { name: string; launched?: Date; newPrice?: number };
  sightings: readonly PhoneSighting[];
  parts: readonly PartSighting[];
  /** Parts that lie on the shelf, at what was paid for each: nothing has to be bought or waited for. */
  shelf?: readonly PartSighting[];
  /** Condition it will be sold in, -2 (poor) to 2 (as new). */
  grade: number;
  storageGb?: number;
  /** What it sells for when working, in major units, where the asker knows. */
  value?: number;
  now: Date;
}

export interface Economics {
  currency: string;
  /** Major units a minute of bench time. */
  minute: number;
  /** What a sound one sells for today. */
  value: LogStudentT;
  market: MarketPrediction | null;
  /** No phone is counted as selling above this. */
  cap: number;
  /** E[min(value, cap)] after selling cost. */
  takings: number;
  sellingCost: number;
  /** `without`: leaves out what this person told, by their key. */
  part: (component: string, grade: PartGrade, without?: string) => PartPrice;
  /** Solder, gasket and the like: a share of this. */
  partBase: number;
  /** True when the value is a stand-in: nothing is known of the model's price. */
  standIn: boolean;
  inputs: EconomicsInput[];
}
interface PartPrice {
  low: number;
  price: number;
  high: number;
  seen: number;
  /** It lies on the shelf. */
  held: boolean;
}

/** Without a price when new a phone is taken to have lost this much of it. Assumed. */
const AGED = 2.25;
/** Without any price, a working phone is taken to be worth this many reference hours. Assumed. */
const STAND_IN_HOURS = 4;
/** Bench time of a collective that gives its time still counts this share of the reference hour, so that a plan does not waste it. */
const GIVEN_TIME = 0.02;
const GIVEN_VALUE_SPREAD = 0.1;

const round = (amount: number, currency: string): number => toMajor(fromMajor(amount, currency));

function marketOf({
  sightings,
  now,
  model,
  grade,
  storageGb,
  value,
}: EconomicsQuestion): MarketPrediction | null {
  if (value !== undefined) return null;
  return predictMarket({
    sightings,
    now,
    model: {
      ...(model?.launched ? { launched: model.launched } : {}),
      ...(model?.newPrice !== undefined ? { newPrice: model.newPrice } : {}),
    },
    query: { grade, ...(storageGb ? { storageLog2: Math.log2(storageGb) } : {}) },
  });
}

const rateInput = ({ hourlyRate }: CollectiveSettings, rate: number): EconomicsInput =>
  hourlyRate === null
    ? {
        name: 'hourly rate',
        value: rate,
        ground: 'assumed',
        note: 'default of the currency; /setup rate:',
      }
    : { name: 'hourly rate', value: rate, ground: 'collective', note: '/setup rate:' };

/** `today`: what a working one sells for; `standIn`: nothing is known of that. */
function valueInputs(
  market: MarketPrediction | null,
  today: number,
  standIn: boolean,
  currency: string,
): EconomicsInput[] {
  const name = 'value when working (median)';
  if (!market)
    return [
      {
        name,
        value: round(today, currency),
        ground: standIn ? 'assumed' : 'given',
        ...(standIn ? { note: 'a stand-in: no price is known for it; /prices add or value:' } : {}),
      },
    ];
  return [
    {
      name,
      value: round(market.median, currency),
      ground: 'computed',
      note: `${market.n} sightings; ${Math.round(market.priorShare * 100)} % of it is the prior`,
    },
    ...market.inputs.map(
      ({ name: input, value, ground }): EconomicsInput => ({
        name: `market: ${input}`,
        value,
        ground: ground.kind,
        ...(ground.kind === 'published' ? { note: ground.source } : {}),
        ...(ground.kind === 'assumed' ? { note: ground.why } : {}),
      }),
    ),
  ];
}

const newPriceInput = (given: number | undefined, taken: number, currency: string): EconomicsInput =>
  given !== undefined
    ? { name: 'price when new', value: given, ground: 'collective', note: '/family name' }
    : {
        name: 'price when new',
        value: round(taken, currency),
        ground: 'assumed',
        note: `${AGED} times today's value`,
      };

const derivedInputs = (partBase: number, cap: number, settings: CollectiveSettings): EconomicsInput[] => [
  {
    name: 'base of part prices',
    value: round(partBase, settings.currency),
    ground: 'assumed',
    note: 'geometric mean of the price when new and today',
  },
  { name: 'selling cost', value: settings.sellingCost, ground: 'collective', note: '/setup selling-cost:' },
  {
    name: 'highest sale counted',
    value: round(cap, settings.currency),
    ground: 'assumed',
    note: 'the mean of a heavy-tailed price does not exist without a cap',
  },
];

/** What a part costs: what lies on the shelf before what was seen, that before its share of the base. */
const partPricesOf =
  ({ knowledge, shelf, parts }: EconomicsQuestion, partBase: number): Economics['part'] =>
  (component, grade, without) => {
    const held = shelf?.find((one) => one.component === component && one.grade === grade);
    if (held) return { low: held.price, price: held.price, high: held.price, seen: 0, held: true };
    const told = parts.filter(
      (one) => one.component === component && (without === undefined || one.by !== without),
    );
    const share = knowledge.components.get(component)?.partShare ?? [0.05, 0.1, 0.2];
    const [lowest = 0, middle = 0, highest = 0] = share.map((one) => one * partBase);
    const original = { low: lowest, price: middle, high: highest };
    const { low, price, high, seen } = partEstimate(grade, told, original);
    return { low, price, high, seen, held: false };
  };

/**
 * Puts the numbers together. A part costs its share of the geometric mean of the phone's price when new and its value
 * today: parts get cheaper as the phone does, but more slowly (assumed); prices that the collective has seen for the
 * part replace that.
 */
export function economicsOf(question: EconomicsQuestion): Economics {
  const { settings, model } = question;
  const { currency, sellingCost } = settings;
  const hour = toMajor(referenceHour(currency).rate);
  const rate = settings.hourlyRate ?? hour;
  const market = marketOf(question);
  const standIn = question.value === undefined && market === null;
  const value: LogStudentT = market ?? {
    location: Math.log(question.value ?? STAND_IN_HOURS * hour),
    scale: standIn ? 0.5 : GIVEN_VALUE_SPREAD,
    degrees: 6,
  };
  const today = Math.exp(value.location);
  const newPrice = model?.newPrice ?? today * AGED;
  const cap = Math.max(today * 3, newPrice);
  const partBase = Math.sqrt(newPrice * today);
  return {
    currency,
    minute: Math.max(rate, hour * GIVEN_TIME) / 60,
    value,
    market,
    cap,
    takings: expectedMin(value, cap) * (1 - sellingCost),
    sellingCost,
    part: partPricesOf(question, partBase),
    partBase,
    standIn,
    inputs: [
      rateInput(settings, rate),
      ...valueInputs(market, today, standIn, currency),
      newPriceInput(model?.newPrice, newPrice, currency),
      ...derivedInputs(partBase, cap, settings),
    ],
  };
}
