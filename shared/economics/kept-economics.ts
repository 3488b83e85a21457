/** Economics that were worked out lately: one object as long as nothing that they hang on has changed. */
import { LRUCache } from 'lru-cache';
import type { Knowledge } from '../../knowledge/load.ts';
import { hourAfter } from '../market/predict.ts';
import { type Economics, type EconomicsQuestion, economicsOf } from './economics.ts';

const MOST_PHONES = 60;
const kept = new WeakMap<Knowledge, LRUCache<string, Economics>>();

/** As `economicsOf`, out of what is kept where the same was asked within the hour. */
export function keptEconomicsOf(question: EconomicsQuestion): Economics {
  const { knowledge, family, now, ...rest } = question;
  const of = kept.get(knowledge) ?? new LRUCache<string, Economics>({ max: MOST_PHONES });
  kept.set(knowledge, of);
  const key = JSON.stringify([family.id, hourAfter(now), rest]);
  const made = of.get(key) ?? economicsOf(question);
  of.set(key, made);
  return made;
}
