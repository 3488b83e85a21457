/** A small set of bad texts by a fixed seed. `npm run node tests/bench/fuzz.ts` tries a million. */
import { describe, expect, it } from 'vitest';
import { replySchema } from '../../commands/framework/reply.ts';
import { seeded } from '../diagnosis/random-problem.ts';
import { testBot } from '../test-bot.ts';
import { fuzzLine, fuzzText } from './inputs.ts';
import { parsers } from './parsers.ts';

/** What a person must never wait for, in milliseconds of this process's own work: what else the machine does is not in it. */
const HANG = 1000;
const worked = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

describe('bad input', () => {
  it.each(Object.keys(parsers))('%s: no crash, no hang, and a refusal that helps', (name) => {
    const random = seeded(11);
    for (let i = 0; i < (name === 'option' ? 800 : 3000); i += 1) {
      const text = name === 'line' ? fuzzLine(random) : fuzzText(random);
      const from = worked();
      expect(() => parsers[name]?.(text, random), JSON.stringify(text)).not.toThrow();
      expect(worked() - from, JSON.stringify(text)).toBeLessThan(HANG);
    }
  });

  it('is never a fault of the bot, whoever says it and wherever', () => {
    const random = seeded(12);
    const made = testBot();
    for (let i = 0; i < 1500; i += 1) {
      const line = fuzzLine(random);
      const reply = made.say(line, {
        direct: random() < 0.3,
        role: random() < 0.3 ? 'steward' : random() < 0.5 ? 'member' : 'visitor',
      });
      replySchema.parse(reply);
      expect(reply.outcome, `${JSON.stringify(line)} ${String(made.faults.at(-1)?.error)}`).not.toBe('fault');
    }
    expect(made.database.check()).toEqual([]);
  });
});
