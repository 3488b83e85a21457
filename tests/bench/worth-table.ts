/**
 * The verdict on 24 phones, one line each, to be read by somebody who restores phones:
 *   node src/launch.cjs tests/bench/worth-table.ts
 * Gifts and bought ones, volunteers at 0 and benches at 60 an hour, cheap and dear, rich and poor in prices, wet and swollen.
 */
import { worthData } from '../../commands/worth/worth-data.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { testBot } from '../test-bot.ts';

interface Phone {
  who: string;
  rate: number;
  line: string;
  /** New price of the model; none: the family alone. */
  newPrice?: number;
  /** Prices seen, oldest first. */
  seen?: readonly number[];
}
const FAMILY = 'glued-front-home-sensor';
const many = (price: number): number[] => Array.from({ length: 12 }, (_, i) => price + ((i * 7) % 5) * 4 - 8);

export const phones: readonly Phone[] = [
  { who: 'volunteers', rate: 0, line: 'price:0 symptoms:dead', newPrice: 749 },
  { who: 'volunteers', rate: 0, line: 'price:0 symptoms:"dead, no charge"', newPrice: 749 },
  { who: 'volunteers', rate: 0, line: 'price:0 symptoms:"drains fast"', newPrice: 749 },
  { who: 'volunteers', rate: 0, line: 'price:0 symptoms:"cracked front glass"', newPrice: 199 },
  { who: 'volunteers', rate: 0, line: 'price:0 symptoms:"got wet, dead"', newPrice: 749 },
  { who: 'volunteers', rate: 0, line: 'price:0 symptoms:swollen', newPrice: 749, seen: many(260) },
  {
    who: 'volunteers',
    rate: 0,
    line: 'price:0 symptoms:"dead, cracked front glass"',
    newPrice: 199,
    seen: many(60),
  },
  { who: 'volunteers', rate: 0, line: 'price:10 symptoms:"no charge"', newPrice: 299, seen: many(80) },
  { who: 'volunteers', rate: 0, line: 'price:40 symptoms:dead', newPrice: 749, seen: many(220) },
  { who: 'volunteers', rate: 0, line: 'price:0 symptoms:"no signal"' },
  { who: 'bench', rate: 60, line: 'price:0 symptoms:dead', newPrice: 749, seen: many(220) },
  { who: 'bench', rate: 60, line: 'price:0 symptoms:"dead, no charge"', newPrice: 199, seen: many(60) },
  { who: 'bench', rate: 60, line: 'price:0 symptoms:"drains fast"', newPrice: 749, seen: many(220) },
  { who: 'bench', rate: 60, line: 'price:80 symptoms:"drains fast"', newPrice: 749, seen: many(220) },
  { who: 'bench', rate: 60, line: 'price:80 symptoms:swollen', newPrice: 749, seen: many(300) },
  { who: 'bench', rate: 60, line: 'price:20 symptoms:swollen', newPrice: 299, seen: many(90) },
  {
    who: 'bench',
    rate: 60,
    line: 'price:60 symptoms:"cracked front glass"',
    newPrice: 1099,
    seen: many(480),
  },
  { who: 'bench', rate: 60, line: 'price:150 symptoms:"dead, got wet"', newPrice: 1099, seen: many(480) },
  { who: 'bench', rate: 60, line: 'price:300 symptoms:dead', newPrice: 1599, seen: many(900) },
  { who: 'bench', rate: 60, line: 'price:60 symptoms:"no signal"', newPrice: 749, seen: many(220) },
  {
    who: 'bench',
    rate: 60,
    line: 'price:30 symptoms:"no signal, drains fast"',
    newPrice: 749,
    seen: many(220),
  },
  { who: 'bench', rate: 30, line: 'price:20 damage:"back cover" value:200', newPrice: 749 },
  {
    who: 'bench',
    rate: 30,
    line: 'price:20 symptoms:dead damage:"display assembly" value:200',
    newPrice: 749,
  },
  { who: 'bench', rate: 30, line: 'price:60 symptoms:dead' },
];

const knowledge = loadKnowledge();
for (const [at, { who, rate, line, newPrice, seen = [] }] of phones.entries()) {
  const bot = testBot({ knowledge });
  bot.say(`/setup rate:${rate}`, { role: 'steward' });
  if (newPrice !== undefined)
    bot.say(`/family name model:"Orrin K3" as:${FAMILY} launched:2023-09 new-price:${newPrice}`, {
      role: 'steward',
    });
  for (const price of seen) bot.say(`/prices add what:"Orrin K3" price:${price}`, { role: 'steward' });
  const began = performance.now();
  const reply = bot.say(`/worth ${newPrice === undefined ? FAMILY : '"Orrin K3"'} ${line}`, {
    role: 'member',
  });
  const took = performance.now() - began;
  const first = reply.blocks.find((block) => block.kind === 'text');
  const parsed = worthData.safeParse(reply.data);
  process.stdout.write(
    `${at + 1}. ${who} at ${rate}, ${newPrice ?? 'no'} new, ${seen.length} prices: ${line}\n   ${reply.title}\n   ${first?.text ?? ''}\n`,
  );
  if (process.argv.includes('--long'))
    process.stdout.write(
      `   ${JSON.stringify(parsed.data?.ways.map((w) => [w.way, w.mean.amount, w.highest?.amount ?? null, Math.round(w.minutes), w.outlay.amount, Math.round(w.chanceRestored * 100)]))} ${Math.round(took)} ms\n`,
    );
}
