/** A job opened and closed straight in the store, for tests that need one and not how it came about. */

import type { Store } from '../shared/store/index.ts';
import { actor } from './actors.ts';

export function openJob(
  store: Store,
  by: { name: string; key: string },
  at: Date,
  imei: string | null = null,
): number {
  const zero = { minor: 0, currency: 'AUD' };
  return store.jobs.open({
    model: null,
    family: 'glued-front-home-sensor',
    came: 'given',
    price: zero,
    grade: 0,
    symptoms: ['dead'],
    promise: {
      verdict: 'restore',
      mean: zero,
      low: zero,
      high: zero,
      minutes: 30,
      chanceRestored: 0.5,
      odds: {},
    },
    openedBy: { key: by.key, name: by.name },
    at,
    imei,
  }).number;
}
export const closeJob = (store: Store, number: number, at: Date) =>
  store.jobs.end(number, 'passed', at, {
    realised: null,
    kept: false,
    fault: null,
    remedy: null,
    parts: [],
    sealed: null,
    by: actor('Ines'),
    taught: { faults: [], outcomes: [] },
  });
