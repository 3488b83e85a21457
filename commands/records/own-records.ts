/** The finished jobs of a collective as records for anybody: no name, no words of people, no price, no IMEI. */
import { createHash } from 'node:crypto';
import { fittedNow } from '../../shared/jobs/hand-over.ts';
import type { JobRecord } from '../../shared/jobs/job.ts';
import { formatPeriod, type Period, spanOfPeriod } from '../../shared/jobs/period.ts';
import { countryAlpha3 } from '../../shared/records/country.ts';
import {
  MOBILE,
  type OpenRecord,
  type RepairStatus,
  recordsToCsv,
} from '../../shared/records/open-record.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import type { Context } from '../framework/context.ts';

/**
 * Restored is fixed; stripped is the end of its life. Passed on or handed back it is repairable where somebody said which fault
 * it was, since then the next step is known; else nobody can say.
 */
function statusOf({ ended }: JobRecord): RepairStatus {
  if (ended?.as === 'restored') return 'Fixed';
  if (ended?.as === 'stripped') return 'End of life';
  return ended?.ending.fault ? 'Repairable' : 'Unknown';
}

/** In the pack's own English words, which are nobody's: what it showed, what it was, what mended it, what was fitted. */
function problemOf({ knowledge }: Context, job: JobRecord): string {
  const named = (entry: { name: string } | undefined): string[] => (entry ? [entry.name] : []);
  const ending = job.ended?.ending;
  const part = (lead: string, words: readonly string[]): string[] =>
    words.length ? [`${lead}: ${words.join(', ')}.`] : [];
  const fitted = job.ended?.as === 'restored' ? fittedNow(job) : [];
  return [
    ...part(
      'Shown',
      job.symptoms.flatMap((id) => named(knowledge.symptoms.get(id))),
    ),
    ...part(
      ending?.label === 'guessed' ? 'Most likely' : 'Fault',
      named(knowledge.faults.get(ending?.fault ?? '')),
    ),
    ...part('Mended by', named(knowledge.remedies.get(ending?.remedy ?? ''))),
    ...part(
      'Fitted',
      fitted.flatMap(({ entry }) =>
        named(knowledge.components.get(entry.component)).map((name) => `${name} (${entry.grade})`),
      ),
    ),
  ].join(' ');
}

/** Letters of the provider's name, for the ids; "bench" where it has none. */
const prefixOf = (provider: string): string =>
  provider
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z]/g, '')
    .slice(0, 24) || 'bench';

/** Records of the jobs that ended in a period, in the order of their numbers. `provider`: who says it is told by whom; may be empty. */
export function ownRecords(context: Context, period: Period, provider: string): OpenRecord[] {
  const { zone, region } = context.collective.settings;
  const { from, to } = spanOfPeriod(period, zone);
  return context.store.jobs
    .endedBetween(from, to)
    .sort((a, b) => a.number - b.number)
    .map((job) => ({
      id: `${prefixOf(provider)}-${job.number}`,
      data_provider: provider,
      country: (region && countryAlpha3(region)) ?? '',
      partner_product_category: 'Mobile phone',
      ...MOBILE,
      brand: '',
      year_of_manufacture: '',
      product_age: '',
      repair_status: statusOf(job),
      repair_barrier_if_end_of_life: '',
      group_identifier: '',
      event_date: isoDateIn(zone, job.ended?.at ?? job.at),
      problem: problemOf(context, job),
    }));
}

export const fileOf = (period: Period): string => `open-records-${formatPeriod(period)}.csv`;
/** Tells one file from another: what was seen is what goes out. */
export const digestOf = (records: readonly OpenRecord[]): string =>
  createHash('sha256').update(recordsToCsv(records)).digest('hex').slice(0, 12);
