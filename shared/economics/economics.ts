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

/**
 * Puts the numbers together. A part costs its share of the geometric mean of the phone's price when new and its value
 * today: parts get cheaper as the phone does, but more slowly (assumed); prices that the collective has seen for the
 * part replace that.
 */
export function economicsOf(question: EconomicsQuestion): Economics {
  const { knowledge, settings, model, now } = question;
  const inputs: EconomicsInput[] = [];
  const hour = toMajor(referenceHour(settings.currency).rate);
  const rate = settings.hourlyRate ?? hour;
  inputs.push(
    settings.hourlyRate === null
      ? {
          name: 'hourly rate',
          value: rate,
          ground: 'assumed',
          note: 'default of the currency; /setup rate:',
        }
      : { name: 'hourly rate', value: rate, ground: 'collective', note: '/setup rate:' },
  );
  const minute = Math.max(rate, hour * GIVEN_TIME) / 60;

  const market =
    question.value === undefined
      ? predictMarket({
          sightings: question.sightings,
          now,
          model: {
            ...(model?.launched ? { launched: model.launched } : {}),
            ...(model?.newPrice !== undefined ? { newPrice: model.newPrice } : {}),
          },
          query: {
            grade: question.grade,
            ...(question.storageGb ? { storageLog2: Math.log2(question.storageGb) } : {}),
          },
        })
      : null;
  const standIn = question.value === undefined && market === null;
  const value: LogStudentT = market ?? {
    location: Math.log(question.value ?? STAND_IN_HOURS * hour),
    scale: standIn ? 0.5 : GIVEN_VALUE_SPREAD,
    degrees: 6,
  };
  if (market) {
    inputs.push({
      name: 'value when working (median)',
      value: round(market.median),
      ground: 'computed',
      note: `${market.n} sightings; ${Math.round(market.priorShare * 100)} % of it is the prior`,
    });
    for (const { name, value: amount, ground } of market.inputs) {
      inputs.push({
        name: `market: ${name}`,
        value: amount,
        ground: ground.kind,
        ...(ground.kind === 'published' ? { note: ground.source } : {}),
        ...(ground.kind === 'assumed' ? { note: ground.why } : {}),
      });
    }
  } else {
    inputs.push({
      name: 'value when working (median)',
      value: round(Math.exp(value.location)),
      ground: standIn ? 'assumed' : 'given',
      ...(standIn ? { note: 'a stand-in: no price is known for it; /prices add or value:' } : {}),
    });
  }
  const today = Math.exp(value.location);
  const newPrice = model?.newPrice ?? today * AGED;
  if (model?.newPrice !== undefined) {
    inputs.push({
      name: 'price when new',
      value: model.newPrice,
      ground: 'collective',
      note: '/family name',
    });
  } else {
    inputs.push({
      name: 'price when new',
      value: round(newPrice),
      ground: 'assumed',
      note: `${AGED} times today's value`,
    });
  }
  const cap = Math.max(today * 3, newPrice);
  const partBase = Math.sqrt(newPrice * today);
  inputs.push(
    {
      name: 'base of part prices',
      value: round(partBase),
      ground: 'assumed',
      note: 'geometric mean of the price when new and today',
    },
    { name: 'selling cost', value: settings.sellingCost, ground: 'collective', note: '/setup selling-cost:' },
    {
      name: 'highest sale counted',
      value: round(cap),
      ground: 'assumed',
      note: 'the mean of a heavy-tailed price does not exist without a cap',
    },
  );
  const sharesOf = (component: string) => {
    const share = knowledge.components.get(component)?.partShare ?? [0.05, 0.1, 0.2];
    const [low = 0, price = 0, high = 0] = share.map((one) => one * partBase);
    return { low, price, high };
  };
  const part = (component: string, grade: PartGrade, without?: string): PartPrice => {
    const held = question.shelf?.find((one) => one.component === component && one.grade === grade);
    if (held) return { low: held.price, price: held.price, high: held.price, seen: 0, held: true };
    const told = question.parts.filter(
      (one) => one.component === component && (without === undefined || one.by !== without),
    );
    const { low, price, high, seen } = partEstimate(grade, told, sharesOf(component));
    return { low, price, high, seen, held: false };
  };
  return {
    currency: settings.currency,
    minute,
    value,
    market,
    cap,
    takings: expectedMin(value, cap) * (1 - settings.sellingCost),
    sellingCost: settings.sellingCost,
    part,
    partBase,
    standIn,
    inputs,
  };
  function round(amount: number): number {
    return toMajor(fromMajor(amount, settings.currency));
  }
}
