import { lotData } from '../../commands/lot/reply.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import { testBot } from '../test-bot.ts';

/** Seconds for a lot of 30 phones, each another model or another symptom, asked for the first time. */
export function lotFigures(knowledge: Knowledge): Record<string, number> {
  const bot = testBot({ knowledge });
  const symptoms = ['dead', 'no charge', 'drains fast', 'no signal', 'cracked front glass', 'got wet, dead'];
  const rows = Array.from({ length: 30 }, (_, i) => {
    const model = `Orrin K${1 + Math.floor(i / symptoms.length)}`;
    if (i % symptoms.length === 0)
      bot.say(
        `/family name model:"${model}" as:glued-front-home-sensor launched:2023-09 new-price:${500 + 40 * i}`,
      );
    return `${model} ${symptoms[i % symptoms.length]}`;
  });
  const from = process.hrtime.bigint();
  const { phones } = lotData.parse(bot.say(`/lot "${rows.join('; ')}" price:900`).data);
  const seconds = Number(process.hrtime.bigint() - from) / 1e9;
  if (phones !== 30) throw new Error(`${phones} phones in the lot`);
  return { 'lot.30.s': Math.round(seconds * 1000) / 1000 };
}
