/** Finished jobs of an invented collective, put into a store. */

import type { EndedAs } from '../../shared/jobs/job.ts';
import { money } from '../../shared/money/money.ts';
import type { Store } from '../../shared/store/index.ts';
import { actor } from '../actors.ts';

export interface Finished {
  as?: EndedAs;
  /** Major units. */
  paid?: number;
  sold?: number | null;
  openedAt?: string;
  endedAt: string;
  minutes?: number;
  fault?: string | null;
  chance?: number;
  kept?: boolean;
  parts?: string[];
  by?: string;
}

/** Opens and ends a job; gives its number. */
export function finishJob(store: Store, given: Finished): number {
  const {
    as = 'restored',
    paid = 20,
    sold = 138,
    endedAt,
    minutes = 35,
    fault = 'battery-open',
    chance = 0.5,
  } = given;
  const aud = (amount: number) => money(amount * 100, 'AUD');
  const by = actor(given.by ?? 'Ines');
  const at = new Date(endedAt);
  const { number } = store.jobs.open({
    model: null,
    family: 'glued-front-home-sensor',
    came: 'bought',
    price: aud(paid),
    grade: 0,
    symptoms: ['dead'],
    promise: {
      verdict: 'restore',
      mean: aud(40),
      low: aud(-20),
      high: aud(90),
      minutes: 60,
      chanceRestored: 0.8,
      odds: fault === null ? {} : { [fault]: chance },
    },
    openedBy: by,
    at: new Date(given.openedAt ?? '2026-02-20T09:00:00Z'),
    imei: null,
  });
  store.jobs.add(
    number,
    [
      { kind: 'minutes', minutes },
      { kind: 'fitted', component: 'battery', grade: 'used' },
    ],
    { by, at },
  );
  store.jobs.end(number, as, at, {
    realised: sold === null ? null : aud(sold),
    kept: given.kept ?? false,
    fault,
    remedy: null,
    parts: given.parts ?? [],
    sealed: null,
    by,
    taught: { faults: [], outcomes: [] },
  });
  return number;
}
