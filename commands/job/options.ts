/** The options that several of `/job`'s actions share, and the job that is meant. */
import { z } from 'zod';
import { quantities } from '../../knowledge/schema.ts';
import { readReading } from '../../shared/diagnosis/reading.ts';
import { type Imei, readImei } from '../../shared/imei/imei.ts';
import type { JobRecord } from '../../shared/jobs/job.ts';
import { type Obstacle, whyClosed } from '../../shared/jobs/rules.ts';
import { say } from '../../shared/language/say.ts';
import type { Context } from '../context.ts';
import { jobs, type Named } from '../lookup.ts';
import { choiceOption, lookupOption, type Option, optional } from '../option.ts';
import { Refusal } from '../refusal.ts';

export const jobOption = optional(
  lookupOption({
    summary: 'The number of the job; without it, the newest that you hold',
    example: '12',
    lookup: jobs,
  }),
);

/** An IMEI in 14, 15 or 16 digits. Its refusals never repeat the number. */
export const imeiOption: Option<Imei, true> = {
  summary: 'The IMEI; the last four digits are shown, the rest is sealed',
  example: '490154203237518',
  required: true,
  many: false,
  wire: { type: 'text', max: 24 },
  expected: 'the 15 digits that *#06# shows',
  schema: () =>
    z.string().transform((text, issue) => {
      const read = readImei(text);
      if (read.ok) return read.imei;
      issue.addIssue({ code: 'custom', message: read.problem, params: { expected: read.expected } });
      return z.NEVER;
    }),
};

export interface Reading {
  value: number;
  unit: (typeof quantities)[number];
  /** What was measured; empty when not said. */
  of: string;
}

/** A reading with its unit and, behind it, what was measured: `3.82 V cell`. */
export const readingOption: Option<Reading, true> = {
  summary: 'What a meter or the phone reads, and of what',
  example: '3.82 V cell',
  required: true,
  many: false,
  wire: { type: 'text', max: 80 },
  expected: `a number with a unit (${quantities.join(', ')}), such as 3.82 V cell`,
  schema: () =>
    z.string().transform((text, issue) => {
      const match = /^\s*([+-]?\d+(?:[.,]\d+)?\s*[a-zµΩ%°]{1,6})(?:\s+(\S.{0,59}))?\s*$/iu.exec(text);
      for (const unit of quantities) {
        const value = match && readReading(match[1] ?? '', unit);
        if (value !== null && match) return { value, unit, of: (match[2] ?? '').trim() };
      }
      issue.addIssue({ code: 'custom', message: `"${text}" is no reading` });
      return z.NEVER;
    }),
};

/** The job that is named, else the newest open one that the asker holds, else the only open one. */
export function jobMeant(context: Context, named: Named | undefined): JobRecord {
  const { store, person } = context;
  if (named) {
    const found = store.jobs.get(Number(named.id));
    if (found) return found;
    throw new Refusal({
      problem: say`There is no job ${named.id} here.`,
      expected: say`a number from /job list`,
      option: 'job',
    });
  }
  const [own] = store.jobs.listOpen({ holderKey: person.key, limit: 1 });
  if (own) return own;
  const open = store.jobs.listOpen({ limit: 2 });
  const [only] = open;
  if (only && open.length === 1) return only;
  throw new Refusal(
    only
      ? {
          problem: say`You hold no job, and several are open.`,
          expected: say`job: and its number, from /job list`,
          example: `/job show job:${only.number}`,
        }
      : {
          problem: say`No job is open.`,
          expected: say`a new one`,
          example: '/job open "Orrin K3" came:given',
        },
  );
}

/** The job that is meant, where something is to be added to it. */
export function openJobMeant(context: Context, named: Named | undefined): JobRecord {
  const job = jobMeant(context, named);
  const closed = whyClosed(job);
  if (closed) throw new Refusal({ problem: `${closed.problem}.`, expected: closed.expected });
  return job;
}

/** Yes, or not said. */
export const yes = (summary: string) => optional(choiceOption({ summary, example: 'yes', choices: ['yes'] }));

/** Who writes an entry, and when. */
export const handOf = ({ person, now }: Context) => ({ by: person.name, byKey: person.key, at: now });

/** Refuses for all that stands in the way at once. */
export function refuseFor(obstacles: readonly Obstacle[], example?: string): never {
  throw new Refusal({
    problem: `${obstacles.map(({ problem }) => problem).join('. ')}.`,
    expected: obstacles.map(({ expected }) => expected).join('; '),
    ...(example === undefined ? {} : { example }),
  });
}
