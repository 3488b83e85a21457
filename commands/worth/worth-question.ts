import type { Remedy } from '../../knowledge/schema.ts';
import type { Economics } from '../../shared/economics/economics.ts';
import type { Message } from '../../shared/language/message.ts';
import type { Appraisal } from '../../shared/worth/appraise.ts';
import type { PriceTurn } from '../../shared/worth/verdict.ts';
import type { AppraisedPhone } from '../shared/appraise-phone.ts';
import type { Look } from '../shared/at-the-table.ts';
import type { Phone } from '../shared/phone.ts';

export interface WorthQuestion extends AppraisedPhone {
  phone: Phone;
  rough: Message[];
  mendedBy: Remedy | null;
  /** What was seen at the seller's table, and the answer before the last of it. */
  looks: readonly Look[];
  before: Appraisal | null;
  /** The command's options as text, to be said again with more that was seen. */
  again: Readonly<Record<string, string>>;
  kept: boolean;
}
export const closestOf = ({ answer }: Appraisal): PriceTurn | null =>
  answer.kind === 'advice' ? answer.closest : null;
export const highestOf = ({ answer }: Appraisal): number | null =>
  answer.kind === 'advice' ? answer.highest : null;

/** What it sells for when working, major units: the median, and 8 times in 10. */
export function valueRange({ value, market }: Economics): { median: number; low: number; high: number } {
  return {
    median: Math.exp(value.location),
    low: market?.low ?? Math.exp(value.location - 1.44 * value.scale),
    high: market?.high ?? Math.exp(value.location + 1.44 * value.scale),
  };
}

/** The faults that it may have, likeliest first; none where no symptom is open. */
export const oddsOf = ({ found }: WorthQuestion): WorthQuestion['found']['belief']['odds'] =>
  found.open.some(({ kind }) => kind === 'symptom') ? found.belief.odds : [];
