/** What is run while somebody reads leaves nothing behind, and answers what they press then as it would have been. */
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { QUIET_MS, workingAhead } from '../../src/work-ahead.ts';
import { type TestBot, testBot } from '../test-bot.ts';

const begun = (): { bot: TestBot; reply: Reply } => {
  const bot = testBot();
  bot.say('/family name model:"Orrin K3" as:glued-front-home-sensor launched:2020-01 new-price:749', {
    role: 'steward',
  });
  return { bot, reply: bot.say('/trace dead model:"Orrin K3"') };
};
const asked = ({ collective, now }: TestBot) => ({
  collective: collective.id,
  person: { key: 'terminal:Ines', name: 'Ines', role: 'member' as const },
  direct: false,
  now,
});
const answers = (reply: Reply) =>
  reply.choices.filter(({ token, aside, invoke }) => token && !aside && invoke.action === 'answer');
/** Tokens are given anew with each reply. */
const withoutTokens = (reply: Reply) => ({
  ...reply,
  choices: reply.choices.map((choice) => ({ ...choice, token: '' })),
});

describe('rehearse', () => {
  it('saves nothing, whichever answer it runs, and the answer is the same afterwards', () => {
    const { bot: plain, reply: first } = begun();
    const { bot, reply } = begun();
    expect(answers(reply).length).toBeGreaterThan(1);
    let [a, b] = [first, reply];
    for (let step = 0; step < 5 && answers(b).length; step += 1) {
      const before = bot.dump();
      for (const choice of answers(b)) expect(bot.dispatcher.rehearse(choice, asked(bot))).toBe(true);
      expect(bot.dump()).toEqual(before);
      a = plain.say({ token: answers(a)[0]?.token ?? '' });
      b = bot.say({ token: answers(b)[0]?.token ?? '' });
      expect(withoutTokens(b)).toEqual(withoutTokens(a));
    }
    expect(bot.faults).toEqual([]);
  });
  it('runs nothing but what says that it may be run ahead, and no token that is not there', () => {
    const { bot, reply } = begun();
    const others = reply.choices.filter(({ token, invoke }) => token && invoke.action !== 'answer');
    const gone = answers(reply).map((choice) => ({ ...choice, token: 'none' }));
    expect(others.length).toBeGreaterThan(0);
    for (const choice of [...others, ...gone])
      expect(bot.dispatcher.rehearse(choice, asked(bot))).toBe(false);
  });
});

describe('a bot that works ahead', () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });
  it('waits until nobody has asked for a while, and runs one at a time', () => {
    const { bot } = begun();
    const rehearsed: string[] = [];
    const ahead = workingAhead(
      {
        ...bot.dispatcher,
        rehearse: (choice, origin) => {
          rehearsed.push(choice.token ?? '');
          return bot.dispatcher.rehearse(choice, origin);
        },
      },
      () => bot.now,
    );
    const reply = ahead.handle({ ...asked(bot), say: { line: '/trace show' } });
    expect(answers(reply).length).toBeGreaterThan(1);
    vi.advanceTimersByTime(QUIET_MS - 1);
    ahead.handle({ ...asked(bot), say: { line: '/caution heat' } });
    vi.advanceTimersByTime(QUIET_MS - 1);
    expect(rehearsed).toEqual([]);
    vi.advanceTimersByTime(1);
    expect(rehearsed).toHaveLength(1);
    vi.advanceTimersByTime(60_000);
    expect(rehearsed.slice(0, 2)).toEqual(
      answers(reply)
        .slice(0, 2)
        .map(({ token }) => token),
    );
    const done = rehearsed.length;
    vi.advanceTimersByTime(60_000);
    expect(rehearsed).toHaveLength(done);
  });
});
