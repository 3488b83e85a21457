/** `/job totals`: what a month or a year brought, by member, family and month, and as CSV. */
import { z } from 'zod';
import { csvOf, guardFormula } from '../../shared/csv/csv.ts';
import {
  type ClosedLine,
  closedLine,
  formatPeriod,
  monthOf,
  type Period,
  type PeriodSum,
  spanOfPeriod,
  sumLines,
} from '../../shared/jobs/period.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, packText, plain, quantity, say, typed, verbatim } from '../../shared/language/say.ts';
import { amount, fromMajor, moneyWire, toWire } from '../../shared/money/money.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { optional } from '../framework/option.ts';
import { type DraftBlock, facts, reply, right, table, text } from '../framework/reply.ts';
import { periodOption } from '../shared/period-option.ts';
import { hourRate } from './job-money.ts';

const sumData = z.object({
  restored: z.number().int(),
  kept: z.number().int(),
  stripped: z.number().int(),
  passed: z.number().int(),
  handedBack: z.number().int(),
  minutes: z.number().int(),
  out: moneyWire,
  back: moneyWire,
  worth: moneyWire,
  net: moneyWire,
  /** When the bench time is paid. */
  after: moneyWire,
  estimated: z.number().int(),
  /** After the time, of the phones that were sold and had an estimate; and what came of these. */
  expected: moneyWire,
  came: moneyWire,
});
const partData = z.array(z.object({ of: z.string(), sum: sumData }));
export const jobTotalsData = z.object({
  period: z.string(),
  sum: sumData,
  members: partData,
  /** By the family's id. */
  families: partData,
  /** Of a year. */
  months: partData,
  /** Jobs whose money is in another currency: in no sum. */
  otherCurrency: z.number().int(),
});

const wireOf = (sum: PeriodSum): z.infer<typeof sumData> => ({
  ...sum,
  out: toWire(sum.out),
  back: toWire(sum.back),
  worth: toWire(sum.worth),
  net: toWire(sum.net),
  after: toWire(sum.after),
  expected: toWire(sum.expected),
  came: toWire(sum.came),
});

interface Part {
  of: string;
  name: Message;
  sum: PeriodSum;
}

const hours = (minutes: number): Message => quantity(Number((minutes / 60).toFixed(1)), 'h');

const partTable = (heading: Message, first: Message, parts: readonly Part[]): DraftBlock =>
  table(
    [
      first,
      right(say`Restored`),
      right(say`Other`),
      right(say`Hours`),
      right(say`Spent`),
      right(say`Came back`),
      right(say`Left`),
    ],
    parts.map(({ name, sum }) => [
      name,
      plain`${sum.restored}`,
      plain`${sum.stripped + sum.passed + sum.handedBack}`,
      hours(sum.minutes),
      amount(sum.out),
      amount(sum.back),
      amount(sum.net),
    ]),
    heading,
  );

/** A line for each closed job, for a spreadsheet. Money in major units. */
function csv(lines: readonly ClosedLine[]): string {
  const header = [
    ...['job', 'day', 'ended', 'member', 'family', 'minutes', 'currency'],
    ...['out', 'back', 'worth', 'net', 'expected', 'expected_minutes'],
  ];
  return csvOf(
    header,
    lines.map((line) => [
      String(line.job),
      line.day,
      line.kept ? 'kept' : line.ended,
      guardFormula(line.member.name),
      line.family,
      String(line.minutes),
      line.out.currency,
      ...[line.out, line.back, line.worth, line.net].map((one) => toWire(one).amount),
      line.expected ? toWire(line.expected).amount : '',
      line.expected ? String(Math.round(line.expectedMinutes)) : '',
    ]),
  );
}

/** Lines by what they have in common. `as`: how a part is told apart in the data. */
function parted(
  lines: readonly ClosedLine[],
  sumOf: (some: readonly ClosedLine[]) => PeriodSum,
  keyOf: (line: ClosedLine) => string,
  as: (line: ClosedLine) => { of: string; name: Message },
): Part[] {
  const groups = new Map<string, ClosedLine[]>();
  for (const line of lines) groups.set(keyOf(line), [...(groups.get(keyOf(line)) ?? []), line]);
  return [...groups.values()].flatMap((own) => (own[0] ? [{ ...as(own[0]), sum: sumOf(own) }] : []));
}
const mostFirst = (a: Part, b: Part): number =>
  b.sum.restored - a.sum.restored || b.sum.minutes - a.sum.minutes || (a.of < b.of ? -1 : 1);

function sumFacts(sum: PeriodSum, context: Context): DraftBlock {
  const { expected, came, estimated } = sum;
  return facts([
    [say`At the bench`, hours(sum.minutes)],
    [say`Spent`, amount(sum.out)],
    [say`Came back`, amount(sum.back)],
    ...(sum.kept
      ? [
          [
            say`Kept in use`,
            counted(sum.kept, '{0} phone, worth {1}', '{0} phones, worth {1}', amount(sum.worth)),
          ] as const,
        ]
      : []),
    [say`Left`, amount(sum.net)],
    [
      say`Left after the time`,
      say`${amount(sum.after)}, at ${amount(fromMajor(hourRate(context.collective), context.collective.settings.currency))} an hour`,
    ],
    ...(estimated
      ? [
          [
            say`Estimate and outcome`,
            counted(
              estimated,
              '{1} expected after the time, {2} came ({0} phone that was sold)',
              '{1} expected after the time, {2} came ({0} phones that were sold)',
              amount(expected),
              amount(came),
            ),
          ] as const,
        ]
      : []),
  ]);
}

/** By member and family, most restored first, and of a year by month. */
function partsOfPeriod(
  { knowledge }: Context,
  period: Period,
  lines: readonly ClosedLine[],
  sumOf: (some: readonly ClosedLine[]) => PeriodSum,
): { members: Part[]; families: Part[]; months: Part[] } {
  // A person is a key; what is told is the name.
  const members = parted(
    lines,
    sumOf,
    ({ member }) => member.key ?? `name ${member.name}`,
    ({ member }) => ({ of: member.name, name: verbatim(member.name) }),
  ).sort(mostFirst);
  const families = parted(
    lines,
    sumOf,
    ({ family }) => family,
    ({ family }) => ({ of: family, name: packText(knowledge.families.get(family)?.name ?? family) }),
  ).sort(mostFirst);
  const monthIn = ({ day }: ClosedLine) => day.slice(0, 7);
  const months = (
    period.month === null
      ? parted(lines, sumOf, monthIn, (line) => ({ of: monthIn(line), name: typed(monthIn(line)) }))
      : []
  ).sort((x, y) => (x.of < y.of ? -1 : 1));
  return { members, families, months };
}

/** What is in no sum. `other`: jobs in another currency. */
const notCounted = (lines: readonly ClosedLine[], other: number): DraftBlock[] => [
  ...(lines.some(({ kept, worth }) => kept && worth.minor === 0)
    ? [text(say`A kept phone whose worth is not known counts as nothing.`)]
    : []),
  ...(other
    ? [
        text(
          counted(
            other,
            '{0} job in another currency: not in the sums.',
            '{0} jobs in another currency: not in the sums.',
          ),
        ),
      ]
    : []),
];

export const jobTotals = defineAction({
  summary: say`What a month or a year brought: money, hours, estimate and outcome, by member and family, and as CSV`,
  who: 'member',
  options: {
    of: optional(
      periodOption({ summary: say`A month or a year; without it, this month`, example: '2026-03' }),
    ),
  },
  examples: ['/job totals', '/job totals 2026', '/job totals 2026-03'],

  data: jobTotalsData,
  run: ({ of: given }, context) => {
    const { store, collective, now } = context;
    const { zone, currency } = collective.settings;
    const period = given ?? monthOf(now, zone);
    const { from, to } = spanOfPeriod(period, zone);
    const all = store.jobs.endedBetween(from, to).flatMap((job) => closedLine(job, zone) ?? []);
    const lines = all.filter(({ out, back }) => out.currency === currency && back.currency === currency);
    const sumOf = (some: readonly ClosedLine[]) => sumLines(some, currency, hourRate(collective));
    const sum = sumOf(lines);
    const { members, families, months } = partsOfPeriod(context, period, lines, sumOf);
    const name = formatPeriod(period);
    const other = all.length - lines.length;
    return reply({
      title: all.length
        ? counted(
            sum.restored,
            '{1}: {0} phone back in use, {2} left',
            '{1}: {0} phones back in use, {2} left',
            typed(name),
            amount(sum.net),
          )
        : say`${typed(name)}: no job was closed`,
      blocks: all.length
        ? [
            sumFacts(sum, context),
            partTable(say`By member`, say`Member`, members),
            partTable(say`By family`, say`Family`, families),
            ...(months.length > 1 ? [partTable(say`By month`, say`Month`, months)] : []),
            ...notCounted(lines, other),
          ]
        : [],
      files: all.length
        ? [
            {
              name: `totals-${name}.csv`,
              mime: 'text/csv',
              alt: say`A line for each closed job of ${typed(name)}, with names: for the collective itself.`,
              text: csv(all),
            },
          ]
        : [],
      data: {
        period: name,
        sum: wireOf(sum),
        members: members.map((one) => ({ of: one.of, sum: wireOf(one.sum) })),
        families: families.map((one) => ({ of: one.of, sum: wireOf(one.sum) })),
        months: months.map((one) => ({ of: one.of, sum: wireOf(one.sum) })),
        otherCurrency: other,
      },
    });
  },
});
