/** What a job's entries say of the phone that goes to its next owner. Pure: what was fitted, read and noticed. */
import { accessLevels, type Family, type PartGrade } from '../../knowledge/schema.ts';
import type { PhoneState } from '../phone/state.ts';
import type { Entry, LoggedEntry } from './entry.ts';
import type { JobRecord } from './job.ts';

type Logged<K extends Entry['kind']> = LoggedEntry & { entry: Extract<Entry, { kind: K }> };
const isKind =
  <K extends Entry['kind']>(kind: K) =>
  (logged: LoggedEntry): logged is Logged<K> =>
    logged.struck === null && logged.entry.kind === kind;

/** The component that is in the phone now, of each kind that was fitted: one fitted again has taken the place of the first. */
export function fittedNow(job: Pick<JobRecord, 'entries'>): Logged<'fitted'>[] {
  const last = new Map<string, Logged<'fitted'>>();
  for (const logged of job.entries.filter(isKind('fitted'))) {
    last.delete(logged.entry.component);
    last.set(logged.entry.component, logged);
  }
  return [...last.values()];
}

/** A reading that tells of the battery's state. */
const ofBattery = ({ unit, of }: { unit: string; of: string }): boolean =>
  unit === 'cycles' || unit === 'mAh' || (unit === '%' && /capac|health|batter/i.test(of));

export interface BatteryNow {
  /** The grade of the cell fitted here; null where it is the one that the phone came with. */
  fitted: PartGrade | null;
  /** Someone qualified fitted it, as `/danger new-cell` says. */
  byQualified: boolean;
  /** The last reading of each kind, of the cell that is in the phone now. A reading goes with its cell. */
  readings: { value: number; unit: string; of: string }[];
}

/** The cell that is in the phone now, and what was measured of it. */
export function batteryNow(
  job: Pick<JobRecord, 'entries'>,
  { madeSafe }: Pick<PhoneState, 'madeSafe'>,
): BatteryNow {
  const cell = fittedNow(job).find(({ entry }) => entry.component === 'battery');
  const qualified = madeSafe.findLast(({ step }) => step === 'new-cell');
  const readings = new Map<string, BatteryNow['readings'][number]>();
  for (const { seq, at, entry } of job.entries.filter(isKind('reading'))) {
    // What is read in the entry of the fitting itself is of the new cell.
    if (!ofBattery(entry) || (cell && seq < cell.seq) || (qualified && at < qualified.at)) continue;
    readings.set(`${entry.unit} ${entry.of.toLowerCase()}`, entry);
  }
  return {
    fitted: cell?.entry.grade ?? null,
    byQualified: qualified !== undefined,
    readings: [...readings.values()],
  };
}

/** What somebody noticed of this phone, in their words, oldest first. */
export const odditiesOf = (job: Pick<JobRecord, 'entries'>): string[] =>
  job.entries
    .filter(isKind('oddity'))
    .map(({ entry }) => entry.text)
    .filter((text) => text !== '');

/** The day on which an earlier page was handed out: the job was closed then, and reopened since. Null without one. */
export function replacedPage(job: Pick<JobRecord, 'entries'>): Date | null {
  const reopened = job.entries.findLastIndex(isKind('reopened'));
  if (reopened < 0) return null;
  return job.entries.slice(0, reopened).findLast(isKind('finished'))?.at ?? null;
}

/** A component that lies behind the seal or the screws: to fit one is to open the phone. */
const isInside = (family: Family, component: string): boolean => {
  const place = family.components[component];
  return place === null || place === undefined || place.tools !== 'none';
};

/**
 * Whether the phone was opened at this bench: something inside was fitted, it was cleaned inside, or a step of a trace was
 * done that needs it open (`reached`: the access of the steps done, 'closed' where there is none).
 */
export const wasOpened = (
  job: Pick<JobRecord, 'entries'>,
  family: Family,
  { madeSafe }: Pick<PhoneState, 'madeSafe'>,
  reached: (typeof accessLevels)[number],
): boolean =>
  accessLevels.indexOf(reached) > 0 ||
  madeSafe.some(({ step }) => step === 'cleaned' || step === 'new-cell') ||
  fittedNow(job).some(({ entry }) => isInside(family, entry.component));
