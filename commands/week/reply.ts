/** What the weekly post says: the bench first, then each phone's line; behind it the table and the figures. Nothing private. */

import type { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { counted, joined, packText, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import { factorUsed } from '../../shared/week/factors.ts';
import { summaryOf } from '../../shared/week/finished-jobs.ts';
import type { IsoWeek } from '../../shared/week/iso-week.ts';
import type { RestoredPhone, WeekSummary } from '../../shared/week/summary.ts';
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
import { groundWords, sourcesOf } from '../shared/words.ts';
import { benchBlocks } from './bench.ts';
import { type WeekData, weekData, weekDataOf } from './week-data.ts';
import { altOf, chartOf } from './week-picture.ts';
import {
  cameBack,
  daysFact,
  daysInWords,
  dayWords,
  estimateInWords,
  hours,
  KG,
  lastInstant,
  learntInWords,
  othersInWords,
  phoneName,
  rangeWords,
  rough,
  sumInWords,
  type WeekWords,
} from './week-words.ts';

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
