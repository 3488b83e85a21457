/**
 * What working ahead saves: the time of an answer to a trace that was rehearsed while somebody read, beside that of the same
 * answer which was not, over many first complaints. Part of `npm run bench`; alone: `npm run node tests/bench/ahead.ts`.
 */
import { pathToFileURL } from 'node:url';
import { knowledge, type TestBot, testBot } from '../test-bot.ts';

const PHONES = 40;
const FAMILIES = ['glued-front-home-sensor', 'glued-back-under-display'] as const;

const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

/** Milliseconds of the first answer to a trace; null where nothing is asked. */
function answerTime(bot: TestBot, family: string, symptom: string, ahead: boolean): number | null {
  bot.say(`/family name model:"Phone ${family}" as:${family}`, { role: 'steward' });
  const reply = bot.say(`/trace start "${symptom}" model:"Phone ${family}"`);
  const choice = reply.choices.find(({ invoke }) => invoke.action === 'answer');
  if (choice?.token === undefined) return null;
  if (ahead) {
    const person = { key: 'terminal:Ines', name: 'Ines', role: 'member' } as const;
    bot.dispatcher.rehearse(choice, {
      collective: bot.collective.id,
      person,
      direct: false,
      now: bot.now,
    });
  }
  const from = performance.now();
  bot.say({ token: choice.token });
  return performance.now() - from;
}

/** Each symptom is asked once with and once without, in turns: of one family ahead, of the other not, and the other way round. */
export function aheadFigures(): Record<string, number> {
  const symptoms = [...knowledge().symptoms.values()].slice(0, PHONES);
  const times = { ahead: [] as number[], plain: [] as number[] };
  symptoms.forEach(({ name }, index) => {
    FAMILIES.forEach((family, place) => {
      const ahead = (index + place) % 2 === 0;
      const ms = answerTime(testBot(), family, name, ahead);
      if (ms !== null) times[ahead ? 'ahead' : 'plain'].push(ms);
    });
  });
  return {
    'trace.answer.plain.p50ms': median(times.plain),
    'trace.answer.ahead.p50ms': median(times.ahead),
    'trace.answer.ahead.ratio': median(times.ahead) / median(times.plain),
  };
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href)
  for (const [name, value] of Object.entries(aheadFigures()))
    process.stdout.write(`${name.padEnd(36)}${value.toFixed(3).padStart(12)}\n`);
