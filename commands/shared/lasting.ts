/** How long what was fitted here has lasted, and how it is told. */
import { partGrades } from '../../knowledge/schema.ts';
import { lastingOf, type Watched } from '../../shared/jobs/survival.ts';
import type { Message } from '../../shared/language/message.ts';
import { say } from '../../shared/language/say.ts';
import type { Fitting } from '../../shared/store/fittings.ts';
import type { Context } from '../framework/context.ts';
import { componentName, partGradeWords, percent } from './words.ts';

const DAY_MS = 24 * 3600 * 1000;
const daysBetween = (from: Date, to: Date): number =>
  Math.max(0, Math.floor((to.getTime() - from.getTime()) / DAY_MS));

/**
 * For how long a fitting was watched. Who was promised something brings it back while the promise holds, and seldom after it:
 * then nothing is known, so the watch ends with the promise. Without a promise it ends today.
 */
export function watchedOf({ since, promised, failed }: Fitting, now: Date): Watched {
  const days = daysBetween(since, failed ?? now);
  return promised && days > promised ? { days: promised, failed: false } : { days, failed: failed !== null };
}

/** What came back within its promise. */
export const isWithin = ({ since, promised }: Pick<Fitting, 'since' | 'promised'>, at: Date): boolean =>
  daysBetween(since, at) <= promised;

/**
 * "Battery, copy: 83 % (61 % to 94 %) lasted 90 days here; 2 of 12 failed again": a line for each grade of which enough was fitted.
 */
export function lastingInWords(context: Context, component: string): Message[] {
  const { store, now } = context;
  const all = store.fittings.of(component);
  return partGrades.flatMap((grade) => {
    const found = lastingOf(all.filter((one) => one.grade === grade).map((one) => watchedOf(one, now)));
    if (!found) return [];
    const { fitted, failed, days, lasts, low, high } = found;
    return [
      say`${componentName(context, component)}, ${partGradeWords[grade]}: ${percent(lasts)} (${percent(low)} to ${percent(high)}) lasted ${days} days here; ${failed} of ${fitted} failed again, as far as it is known.`,
    ];
  });
}

/** Why no figure is given yet. */
export const tooFew = say`too few yet`;
