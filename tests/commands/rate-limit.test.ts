import { describe, expect, it } from 'vitest';
import { DEFAULT_LIMIT } from '../../commands/framework/rate-limit.ts';
import { refusalOf, testBot, wordsOf } from '../test-bot.ts';

const start = new Date('2026-03-02T09:00:00Z');
const later = (seconds: number) => new Date(start.getTime() + seconds * 1000);

/** A bench with the limit of the running bot, and how many of so many requests at one moment are served. */
function limited() {
  const at = testBot({ limit: DEFAULT_LIMIT });
  const outcomes = (count: number, now: Date, as = 'Ines') =>
    Array.from({ length: count }, () => at.say('/caution', { as, now }).outcome);
  const served = (count: number, now: Date, as?: string) =>
    outcomes(count, now, as).filter((one) => one === 'answered').length;
  return { ...at, served };
}

describe('one noisy person', () => {
  it('is served so much at once, then once a second', () => {
    const { served } = limited();
    expect(served(100, start)).toBe(DEFAULT_LIMIT.atOnce);
    expect(served(100, later(1))).toBe(DEFAULT_LIMIT.perSecond);
    expect(served(100, later(11))).toBe(10 * DEFAULT_LIMIT.perSecond);
    expect(served(100, later(3600))).toBe(DEFAULT_LIMIT.atOnce);
  });

  it('is told kindly when it goes on, and nothing is done', () => {
    const { say, served, dump } = limited();
    served(DEFAULT_LIMIT.atOnce, start);
    const before = dump();
    const refused = say('/family name model:"Orrin K3" as:glued-front-home-sensor', {
      role: 'steward',
      now: start,
    });
    expect(refused).toMatchObject({ audience: 'asker', data: { code: 'rate-limited' } });
    expect(refused.title).toMatch(/^One moment, please/);
    expect(wordsOf(refused)).toContain('the same again in a second; nothing of it was done');
    expect(dump()).toEqual(before);
  });

  it('is told once, until something was answered again', () => {
    const { say, served } = limited();
    served(DEFAULT_LIMIT.atOnce, start);
    const repeats = (now: Date) => say('/caution', { now }).repeats;
    expect([repeats(start), repeats(start), repeats(later(0.5))]).toEqual([false, true, true]);
    expect(served(1, later(1))).toBe(1);
    expect([repeats(later(1)), repeats(later(1))]).toEqual([false, true]);
  });

  it('takes nothing from others, nor from themselves in another collective', () => {
    const { database, dispatcher, served } = limited();
    expect(served(100, start)).toBe(DEFAULT_LIMIT.atOnce);
    expect(served(100, start, 'Moss')).toBe(DEFAULT_LIMIT.atOnce);
    const other = database.collectives.create('Copper Yard');
    const there = dispatcher.handle({
      collective: other.id,
      person: { key: 'terminal:Ines', name: 'Ines', role: 'member' },
      direct: false,
      now: start,
      say: { line: '/caution' },
    });
    expect(there.outcome).toBe('answered');
  });

  it('gets the answer of a request that was answered before, however much was said since', () => {
    const { say, served } = limited();
    const first = say('/prices', { now: start, requestId: 'r-1' });
    served(100, start);
    expect(say('/prices', { now: start, requestId: 'r-1' })).toEqual(first);
    expect(refusalOf(say('/prices', { now: start, requestId: 'r-2' }))?.code).toBe('rate-limited');
  });

  it('is not taken to be noisy for what waited while the bot was away', () => {
    const { dispatcher, collective } = limited();
    const said = (seconds: number) =>
      dispatcher.handle({
        collective: collective.id,
        person: { key: 'matrix:@ines:shed.test', name: 'Ines', role: 'member' },
        direct: false,
        now: later(86_400),
        saidAt: later(seconds),
        say: { line: '/caution' },
      }).outcome;
    expect(Array.from({ length: 100 }, (_, index) => said(2 * index))).not.toContain('refused');
    expect(Array.from({ length: 100 }, () => said(3600)).filter((one) => one === 'answered')).toHaveLength(
      DEFAULT_LIMIT.atOnce,
    );
  });

  it('does not gain by wrong words: they take a turn too', () => {
    const { say, served } = limited();
    for (let i = 0; i < DEFAULT_LIMIT.atOnce; i += 1)
      expect(refusalOf(say('/nonsense', { now: start }))?.code).toBe('unknown-command');
    expect(served(1, start)).toBe(0);
  });
});

describe('a clock that is set', () => {
  it('back takes no turns away, and gives none', () => {
    const { served } = limited();
    expect(served(10, start)).toBe(10);
    expect(served(100, later(-86_400))).toBe(DEFAULT_LIMIT.atOnce - 10);
    expect(served(100, later(-86_395))).toBe(5);
  });
  it('forward gives no more than there is room for', () => {
    const { served } = limited();
    served(100, start);
    expect(served(100, later(1e9))).toBe(DEFAULT_LIMIT.atOnce);
  });
});

describe('without a limit', () => {
  it('all is served, as at the terminal', () => {
    const { say } = testBot();
    expect(Array.from({ length: 200 }, () => say('/caution').outcome)).not.toContain('refused');
  });
});
