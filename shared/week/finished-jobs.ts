import type { Collective } from '../collective/collective-settings.ts';
import { fittedOf, type JobRecord, totalsOf } from '../jobs/job.ts';
import { toMajor } from '../money/money.ts';
import { referenceHour } from '../money/reference-hour.ts';
import type { Store } from '../store/index.ts';
import { formatWeek, type IsoWeek, spanOf } from './iso-week.ts';
import { type FinishedJob, summariseWeek, type WeekSummary, type WeekSwap } from './summary.ts';

/** A model's name, or the id of a family: no model is called like one. */
const phoneName = (store: Store, model: number | null, family: string): string =>
  (model === null ? undefined : store.models.get(model)?.name) ?? family;

function finishedJob(store: Store, job: JobRecord): FinishedJob[] {
  if (!job.ended) return [];
  const { as, at, ending } = job.ended;
  const { out, back, minutes } = totalsOf(job);
  const { fault } = ending;
  return [
    {
      number: job.number,
      model: phoneName(store, job.model, job.family),
      family: job.family,
      ended: as,
      openedAt: job.at,
      endedAt: at,
      minutes,
      out,
      back,
      kept: ending.kept,
      worth: ending.worth ?? null,
      promised: { mean: job.promise.mean, minutes: job.promise.minutes },
      fault,
      faultChanceAtIntake: fault === null ? null : (job.promise.odds[fault] ?? null),
      reusedParts:
        as === 'stripped'
          ? ending.parts.length
          : fittedOf(job).filter(({ grade }) => grade === 'used' || grade === 'refurbished').length,
      by: ending.by.name,
    },
  ];
}

/** Jobs that ended from `from` (included) to `to` (not included). */
const finishedJobsBetween = (store: Store, from: Date, to: Date): FinishedJob[] =>
  store.jobs.endedBetween(from, to).flatMap((job) => finishedJob(store, job));

/** What one hour at the bench costs the collective, in major units. */
const hourOf = ({ settings }: Collective): number =>
  settings.hourlyRate ?? toMajor(referenceHour(settings.currency).rate);

/** The summary of a week as the store has it now. */
export function summaryOf(store: Store, week: IsoWeek): WeekSummary {
  const { zone, currency } = store.collective.settings;
  const { from, to } = spanOf(week, zone);
  return summariseWeek({
    week: formatWeek(week),
    from,
    to,
    jobs: finishedJobsBetween(store, from, to),
    swaps: store.swaps.madeBetween(from, to).map(
      ({ number, component, model, family, effect }): WeekSwap => ({
        number,
        component,
        phone: phoneName(store, model, family),
        effect,
      }),
    ),
    currency,
    hour: hourOf(store.collective),
  });
}
