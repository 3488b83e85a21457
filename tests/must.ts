/** Lines that a test says to the bot, and that have to be answered, or refused without a trace. */
import { expect } from 'vitest';
import type { RefusalCode } from '../commands/framework/refusal.ts';
import type { Reply } from '../commands/framework/reply.ts';
import { refusalOf, type Saying, type TestBot, wordsOf } from './test-bot.ts';

export function must(made: TestBot, line: string, how: Saying = {}): Reply {
  const reply = made.say(line, how);
  if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
  return reply;
}

/** Refused with such a code, or in such words, and nothing is saved. */
export function mustRefuse(made: TestBot, line: string, why: RefusalCode | RegExp, how: Saying = {}): void {
  const before = made.dump();
  const reply = made.say(line, how);
  expect(reply.outcome, line).toBe('refused');
  if (typeof why === 'string') expect(refusalOf(reply)?.code, line).toBe(why);
  else expect(wordsOf(reply)).toMatch(why);
  expect(made.dump()).toEqual(before);
}
