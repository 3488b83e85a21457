/** What the weekly post says: its words, its data, and what its picture is drawn from. Nothing private. */
import { z } from 'zod';
import type { Knowledge } from '../../knowledge/load.ts';
import { pairingEffects } from '../../knowledge/schema.ts';
import type { Message, Unrendered } from '../../shared/language/message.ts';
import {
  counted,
  datesOf,
  joined,
  listWords,
  packText,
  plain,
  quantity,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { amount, moneyWire, toMajor, toWire } from '../../shared/money/money.ts';
import { effectWords } from '../../shared/pairing/pairing.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { factorUsed, type Range, sparedBy } from '../../shared/week/factors.ts';
import { summaryOf } from '../../shared/week/finished-jobs.ts';
import type { IsoWeek } from '../../shared/week/iso-week.ts';
import type { RestoredPhone, WeekLesson, WeekSummary } from '../../shared/week/summary.ts';
import type { Context } from '../framework/context.ts';
import {
  type Draft,
  type DraftBlock,
  facts,
  onBack,
  reply,
  right,
  steps,
  table,
  text,
} from '../framework/reply.ts';
import { groundWords, percent, sourcesOf } from '../shared/words.ts';
import { benchBlocks } from './bench.ts';

const range = z.object({ low: z.number(), high: z.number() }).nullable();

export const weekData = z.object({
  week: z.string(),
  /** First and last day. */
  from: z.iso.date(),
  until: z.iso.date(),
  restored: z.array(
    z.object({
      job: z.number().int(),
      model: z.string(),
      by: z.string(),
      /** From intake to the end. */
      days: z.number().int(),
      minutes: z.number().int(),
      out: moneyWire,
      /** Null for a phone that is kept. */
      back: moneyWire.nullable(),
      /** What a kept phone is worth in use; null where that is not known, and for one that was let go. */
      worth: moneyWire.nullable().default(null),
      /** Parts with an earlier life. */
      reusedParts: z.number().int(),
    }),
  ),
  others: z.object({
    stripped: z.number().int(),
    partsKept: z.number().int(),
    passed: z.number().int(),
    handedBack: z.number().int(),
  }),
  /** Of the restored phones; time is no money here. */
  minutes: z.number().int(),
  out: moneyWire,
  back: moneyWire,
  /** What the kept ones are worth in use; in the net. */
  worth: moneyWire.optional(),
  net: moneyWire,
  /** Over the restored phones that were let go: what was left after the time, and what was expected at intake. */
  estimate: z
    .object({
      phones: z.number().int(),
      expected: moneyWire,
      came: moneyWire,
      expectedMinutes: z.number(),
      minutes: z.number().int(),
    })
    .nullable(),
  days: z.object({ least: z.number(), median: z.number(), most: z.number() }).nullable(),
  reusedParts: z.number().int(),
  /** Kilograms. */
  mass: range,
  /** Kilograms of CO2 equivalent, and kilograms of raw material, for each further year of use in place of new phones. */
  gas: range,
  material: range,
  learnt: z
    .discriminatedUnion('kind', [
      z.object({
        kind: z.literal('fault'),
        job: z.number().int(),
        model: z.string(),
        fault: z.string(),
        chance: z.number(),
      }),
      z.object({
        kind: z.literal('swap'),
        number: z.number().int(),
        component: z.string(),
        phone: z.string(),
        effect: z.enum(pairingEffects),
      }),
    ])
    .nullable(),
});
type WeekData = z.infer<typeof weekData>;

/** What the picture is drawn from: words ready to be set, and money in major units for its lengths. */
export const weekChartData = z.object({
  title: z.string(),
  subtitle: z.string(),
  /** The week in numbers: told small, below the phones. */
  figures: z.array(z.object({ label: z.string(), value: z.string() })),
  currency: z.string(),
  phones: z.array(
    z.object({
      job: z.number().int(),
      model: z.string(),
      note: z.string(),
      out: z.number(),
      outWords: z.string(),
      /** Null for a phone that is kept. */
      back: z.number().nullable(),
      backWords: z.string(),
    }),
  ),
  /** Phones that the picture has no room for. */
  more: z.number().int(),
  /** What the picture says by itself: what its bars are, and how many phones are left out. */
  words: z.object({ spent: z.string(), back: z.string(), more: z.string() }),
  learnt: z.string().nullable(),
  footer: z.string(),
});
export type WeekChartData = z.infer<typeof weekChartData>;

/** Rows of the picture; more would be too small on a phone. */
const DRAWN = 8;

interface WeekWords {
  knowledge: Knowledge;
  collective: string;
  zone: string;
}

/** "23–29 November 2026", "28 December 2026 – 3 January 2027". */
function daysInWords(from: Date, until: Date, { zone }: WeekWords): Message {
  return datesOf(from, until, { timeZone: zone, day: 'numeric', month: 'long', year: 'numeric' });
}

/** Two figures, so that no more is said than is known: 0.42, 5.6, 39, 230. */
const rough = (value: number): number =>
  value >= 100 ? Math.round(value / 10) * 10 : Number(value.toPrecision(2));
const rangeWords = ({ low, high }: Range, unit: Message): Message =>
  rough(low) === rough(high)
    ? say`about ${rough(low)} ${unit}`
    : say`${rough(low)} to ${rough(high)} ${unit}`;
const KG = typed('kg');

const hours = (minutes: number): Message =>
  minutes < 60 ? quantity(minutes, 'min') : quantity(Number((minutes / 60).toFixed(1)), 'h');
const dayWords = (days: number): Message =>
  days < 1 ? say`under a day` : counted(days, '{0} day', '{0} days');

/** "1 stripped (4 parts kept), 2 passed on"; empty when there was nothing else. */
function othersInWords({ others: { stripped, partsKept, passed, handedBack } }: WeekSummary): Message | null {
  const others = [
    ...(stripped
      ? [
          partsKept
            ? say`${stripped} stripped (${counted(partsKept, '{0} part kept', '{0} parts kept')})`
            : say`${stripped} stripped`,
        ]
      : []),
    ...(passed ? [say`${passed} passed on`] : []),
    ...(handedBack ? [say`${handedBack} handed back`] : []),
  ];
  return others.length ? listWords(others) : null;
}

/** A model's own name, or that of a family by its id. */
const phoneName = ({ knowledge }: WeekWords, name: string): Message => {
  const family = knowledge.families.get(name);
  return family ? packText(family.name) : verbatim(name);
};

function learntInWords(learnt: WeekLesson, words: WeekWords): Message {
  const { knowledge } = words;
  if (learnt.kind === 'fault') {
    const fault = knowledge.faults.get(learnt.fault)?.name ?? learnt.fault;
    return say`Job ${learnt.job}, ${phoneName(words, learnt.model)}: it was “${packText(fault)}”, which had ${percent(learnt.chance)} at intake. Worth a look on the next one.`;
  }
  const component = knowledge.components.get(learnt.component)?.name ?? learnt.component;
  return say`Swap report ${learnt.number}: on a ${phoneName(words, learnt.phone)}, a swapped ${packText(component)} ${effectWords[learnt.effect]}.`;
}

/** "AUD 210.00 left, AUD 35.00 more than expected". */
function estimateInWords(summary: WeekSummary): Message {
  const { estimate } = summary;
  if (!estimate) return say`no estimate to hold it against`;
  const { expected, came, phones, expectedMinutes, minutes } = estimate;
  const minor = came.minor - expected.minor;
  const difference = amount({ ...came, minor: Math.abs(minor) });
  const than =
    minor === 0
      ? say`just as expected`
      : minor > 0
        ? say`${difference} more than expected`
        : say`${difference} less than expected`;
  const left = say`${amount(came)} left after the time, ${than}`;
  return joined(
    [
      phones === summary.restored.length
        ? left
        : plain`${left} (${counted(phones, '{0} phone', '{0} phones')})`,
      expectedMinutes
        ? say`${hours(minutes)} where about ${hours(Math.round(expectedMinutes))} were expected`
        : '',
    ],
    '; ',
  );
}

const daysFact = ({ days }: WeekSummary): Message =>
  days === null
    ? typed('')
    : days.least === days.most
      ? dayWords(days.most)
      : say`${days.least} to ${days.most}, half of them within ${dayWords(days.median)}`;

const weekDataOf = (summary: WeekSummary, { knowledge, zone }: WeekWords): WeekData => {
  const { mass, gas, material } = sparedBy(knowledge.factors, summary.restored.length);
  const { estimate, totals } = summary;
  return {
    week: summary.week,
    from: isoDateIn(zone, summary.from),
    until: isoDateIn(zone, lastInstant(summary)),
    restored: summary.restored.map(({ number, model, by, days, minutes, out, back, worth, reusedParts }) => ({
      job: number,
      model,
      by,
      days,
      minutes,
      out: toWire(out),
      back: back && toWire(back),
      worth: worth && toWire(worth),
      reusedParts,
    })),
    others: summary.others,
    minutes: totals.minutes,
    out: toWire(totals.out),
    back: toWire(totals.back),
    worth: toWire(totals.worth),
    net: toWire(totals.net),
    estimate: estimate && {
      ...estimate,
      expected: toWire(estimate.expected),
      came: toWire(estimate.came),
    },
    days: summary.days,
    reusedParts: totals.reusedParts,
    mass,
    gas,
    material,
    learnt: summary.learnt,
  };
};

const lastInstant = ({ to }: WeekSummary): Date => new Date(to.getTime() - 1);

/** Each published figure with its range, its source and whether that was read. */
function factorLines({ knowledge }: WeekWords): Message[] {
  const units = { mass: KG, 'raw-material': say`kg of raw material`, 'greenhouse-gas': say`kg CO2e` };
  return knowledge.factors.map((factor) => {
    const { low, high, of } = factor;
    const figure = low === high ? plain`${low} ${units[of]}` : say`${low} to ${high} ${units[of]}`;
    const spread =
      factor.per === 'life'
        ? say`${figure}, ${rough(factorUsed(factor).low)} for each of its ${factor.years ?? 1} years`
        : factor.per === 'year'
          ? say`${figure} a year`
          : figure;
    return plain`${spread}. ${packText(factor.says)}: ${groundWords({ knowledge }, factor.ground)}.`;
  });
}

function chartOf(summary: WeekSummary, words: WeekWords): Unrendered<WeekChartData> {
  const { collective, knowledge } = words;
  const { totals, restored } = summary;
  const { mass, gas } = sparedBy(knowledge.factors, restored.length);
  const others = othersInWords(summary);
  const left = Math.max(0, restored.length - DRAWN);
  return {
    title: say`From spent to came back`,
    subtitle: plain`${verbatim(collective)}, ${daysInWords(summary.from, lastInstant(summary), words)} (${typed(summary.week)})`,
    figures: [
      {
        label: counted(restored.length, 'phone back in use', 'phones back in use'),
        value: plain`${restored.length}`,
      },
      { label: say`at the bench`, value: hours(totals.minutes) },
      { label: say`spent`, value: amount(totals.out) },
      { label: say`came back`, value: amount(totals.back) },
      {
        label: counted(totals.reusedParts, 'part used again', 'parts used again'),
        value: plain`${totals.reusedParts}`,
      },
      ...(mass ? [{ label: say`kept in use`, value: rangeWords(mass, KG) }] : []),
      ...(gas ? [{ label: say`CO2e spared a year`, value: rangeWords(gas, KG) }] : []),
    ],
    currency: typed(totals.out.currency),
    phones: restored.slice(0, DRAWN).map((phone) => ({
      job: phone.number,
      model: phoneName(words, phone.model),
      note: plain`${dayWords(phone.days)}, ${hours(phone.minutes)}`,
      out: toMajor(phone.out),
      outWords: amount(phone.out),
      back: phone.back && toMajor(phone.back),
      backWords: cameBack(phone),
    })),
    more: left,
    words: {
      spent: say`spent, ${typed(totals.out.currency)}`,
      back: say`came back`,
      more: say`and ${left} more in the message`,
    },
    learnt: summary.learnt && learntInWords(summary.learnt, words),
    footer: others ? say`Also finished: ${others}.` : typed(''),
  };
}

/** What the picture shows, for who cannot see it. */
function altOf(chart: Unrendered<WeekChartData>): Message {
  const { title, subtitle, figures, phones, more, learnt, footer } = chart;
  const line = ({ job, model, note, outWords, back, backWords }: (typeof phones)[number]) =>
    back === null
      ? say`${model} (job ${job}): ${outWords} spent, kept, ${note}`
      : say`${model} (job ${job}): ${outWords} spent, ${backWords} came back, ${note}`;
  const lines = joined(phones.map(line), '; ');
  return joined([
    plain`${title}. ${subtitle}.`,
    plain`${joined(
      figures.map(({ label, value }) => joined([value, label])),
      '; ',
    )}.`,
    more
      ? say`For each phone what was spent and what came back: ${lines}; and ${more} more.`
      : say`For each phone what was spent and what came back: ${lines}.`,
    ...(learnt ? [say`Learnt: ${learnt}`] : []),
    footer,
  ]);
}

/** What came back for it, or that it is kept and what it is worth. */
const cameBack = ({ back, worth }: RestoredPhone): Message =>
  back ? amount(back) : worth ? say`kept, worth ${amount(worth)}` : say`kept`;

const rowOf = (phone: RestoredPhone, words: WeekWords): Message[] => [
  plain`#${phone.number}`,
  phoneName(words, phone.model),
  verbatim(phone.by),
  plain`${phone.days}`,
  hours(phone.minutes),
  amount(phone.out),
  cameBack(phone),
];

/** What is told small, below: how many, how long, and what it spared. */
function smallFacts(summary: WeekSummary, { mass, gas, material }: WeekData): DraftBlock {
  const { restored, totals } = summary;
  return facts([
    [say`Back in use`, counted(restored.length, '{0} phone', '{0} phones')],
    [say`At the bench`, hours(totals.minutes)],
    [say`Against the estimate at intake`, estimateInWords(summary)],
    [say`Days from intake to the end`, daysFact(summary)],
    [say`Parts used again`, plain`${totals.reusedParts}`],
    ...(mass ? [[say`Kept in use`, rangeWords(mass, say`kg of phones`)] as const] : []),
    ...(gas || material
      ? [
          [
            say`Spared each year they stay in use`,
            joined(
              [
                gas ? rangeWords(gas, say`kg CO2e`) : '',
                material ? rangeWords(material, say`kg of raw material`) : '',
              ],
              '; ',
            ),
          ] as const,
        ]
      : []),
  ]);
}

/** All money of the week in a line: what went out, what came back, what is left. */
function sumInWords({ totals }: WeekSummary): Message {
  const { out, back, worth, net, kept } = totals;
  return joined([
    say`Together ${amount(out)} spent, ${amount(back)} came back, ${amount(net)} left.`,
    kept && worth.minor
      ? counted(kept, '{0} phone kept, worth {1}.', '{0} phones kept, worth {1}.', amount(worth))
      : kept
        ? counted(kept, '{0} phone kept.', '{0} phones kept.')
        : '',
  ]);
}

/** Phones with a line of their own on the front; the table behind has all. */
const LINES = 6;

/** "Orrin K3 (job 12): AUD 24.00 spent, AUD 148.00 came back; 3 days, 1.3 h, Ines". */
const lineOf = (phone: RestoredPhone, words: WeekWords): Message => {
  const { number, out, back, by, days, minutes } = phone;
  const lead = say`${phoneName(words, phone.model)} (job ${number}): ${amount(out)} spent`;
  const came = back ? say`${amount(back)} came back` : cameBack(phone);
  return plain`${lead}, ${came}; ${dayWords(days)}, ${hours(minutes)}, ${verbatim(by)}`;
};

/** All phones of the week in a table, small facts, and where mass, material and gas come from. */
function behindWeek(summary: WeekSummary, words: WeekWords, data: WeekData): DraftBlock[] {
  const { restored } = summary;
  return [
    table(
      [
        right(say`Job`),
        say`Model`,
        say`Restored by`,
        right(say`Days`),
        right(say`Bench`),
        right(say`Spent`),
        right(say`Came back`),
      ],
      restored.map((phone) => rowOf(phone, words)),
    ),
    smallFacts(summary, data),
    ...(summary.otherCurrency
      ? [
          text(
            counted(
              summary.otherCurrency,
              '{0} phone in another currency: not in the sums.',
              '{0} phones in another currency: not in the sums.',
            ),
          ),
        ]
      : []),
    ...(data.mass || data.gas || data.material
      ? [
          steps(
            [
              ...factorLines(words),
              say`Each restored phone is taken to stand in for a new one; what it needs itself is not taken off.`,
            ],
            say`Where mass, material and gas come from`,
            false,
          ),
        ]
      : []),
  ];
}

/** The post of a week: the bench first, then each phone's line. One without a restored phone says so in one line. */
function weekReply(
  summary: WeekSummary,
  words: WeekWords,
  bench: readonly DraftBlock[],
): Draft<z.infer<typeof weekData>> {
  const { restored, learnt, week } = summary;
  const data = weekDataOf(summary, words) satisfies WeekData;
  const others = othersInWords(summary);
  const when = daysInWords(summary.from, lastInstant(summary), words);
  if (!restored.length) {
    return reply({
      title: others
        ? say`No phone was restored in week ${typed(week)} (${when}); ${others}.`
        : say`No phone was restored in week ${typed(week)} (${when}).`,
      blocks: [...bench],
      data,
    });
  }
  const chart = chartOf(summary, words);
  const blocks: DraftBlock[] = [
    ...bench,
    steps(
      [
        ...restored.slice(0, LINES).map((phone) => lineOf(phone, words)),
        ...(restored.length > LINES
          ? [counted(restored.length - LINES, 'and {0} more phone', 'and {0} more phones')]
          : []),
      ],
      say`From spent to came back`,
      false,
    ),
    ...(learnt ? [text(say`Learnt: ${learntInWords(learnt, words)}`)] : []),
    text(joined([plain`${when}.`, sumInWords(summary), others ? say`Also finished: ${others}.` : ''])),
    ...onBack(...behindWeek(summary, words, data)),
  ];
  return reply({
    title: counted(
      restored.length,
      'Week {1}: {0} phone back in use',
      'Week {1}: {0} phones back in use',
      typed(week),
    ),
    tone: 'good',
    blocks,
    files: [
      {
        name: `week-${week}.png`,
        mime: 'image/png',
        alt: altOf(chart),
        draw: { kind: 'week-chart', data: chart },
      },
    ],
    sources: sourcesOf(
      words.knowledge,
      words.knowledge.factors.map(({ ground }) => ground),
    ),
    data,
  });
}

/** The post of a week as the store has it now, with the bench as it stands. */
export const weekReplyOf = (context: Context, week: IsoWeek): Draft<z.infer<typeof weekData>> =>
  weekReply(
    summaryOf(context.store, week),
    {
      knowledge: context.knowledge,
      collective: context.store.collective.name,
      zone: context.store.collective.settings.zone,
    },
    benchBlocks(context),
  );

/**
 * What of a post hangs on the jobs and swap reports alone, as text: a post is put right when this changes, not when a
 * setting or a wording did. Null for what is no reply of a week.
 */
export function weekContent({ data }: Pick<Draft, 'data'>): string | null {
  const read = weekData.safeParse(data);
  if (!read.success) return null;
  const { restored, others, learnt } = read.data;
  return JSON.stringify({ restored, others, learnt });
}
