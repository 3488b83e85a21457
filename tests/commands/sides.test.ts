import { beforeAll, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { backOf, frontOf, hasBack } from '../../commands/framework/sides.ts';
import { traceData } from '../../commands/trace/trace-data.ts';
import { renderFrontAsText } from '../../src/surfaces/text-render.ts';
import { knowledge, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const here = <T>(one: T | null | undefined): T => {
  if (one === null || one === undefined) throw new Error('not there');
  return one;
};

/** Replies of traces through every third family: each begun with these, and answered now with the first, now with the last outcome. */
const complaints = ['dead, no charge', 'got wet', 'drains fast'];
const walked: { reply: Reply; path: string }[] = [];

function walk(family: string, complaint: string): void {
  const bot = testBot();
  let reply = bot.say(`/trace start "${complaint}" model:${family}`);
  for (let step = 0; step < 8 && reply.outcome === 'answered'; step += 1) {
    walked.push({ reply, path: `${family}, ${complaint}, step ${step + 1}` });
    const answers = reply.choices.filter(({ aside, danger }) => !aside && !danger);
    const token = answers.at(step % 2 ? -1 : 0)?.token;
    if (!token) break;
    reply = bot.say({ token });
  }
  expect(bot.faults).toEqual([]);
}
beforeAll(() => {
  const families = [...knowledge().families.keys()].filter((_, at) => at % 3 === 0);
  for (const family of families) for (const one of complaints) walk(family, one);
}, 120_000);

const linesOf = (reply: Reply): number =>
  renderFrontAsText(reply, { width: 80, colour: false }).trimEnd().split('\n').length;
/** Whether only lines stand over the answer: a danger whole has no limit. */
const isShort = (reply: Reply): boolean => frontOf(reply).cautions.every(({ brief }) => brief);

describe('the front of a step', () => {
  it('has each new hazard in a line with when to stop, and the dangers whole, never shortened', () => {
    const { cautions } = knowledge();
    for (const { reply, path } of walked) {
      const shown = frontOf(reply).cautions;
      for (const card of reply.cautions) {
        const caution = here(cautions.get(card.id));
        const drawn = shown.find(({ id }) => id === card.id);
        if (caution.neverShort) {
          expect(drawn, path).toEqual(card);
          expect(here(drawn).points.join(' '), path).toContain('Stop when');
        } else if (!card.brief) {
          expect(`${drawn?.name}: ${drawn?.lead}`, path).toBe(caution.short);
          expect(drawn?.lead, path).toMatch(/\bstop\b/);
        } else {
          // Said before: when to stop is said all the same.
          const [, stop] = here(caution.short).split('; ');
          expect(here(stop)).toMatch(/^stop\b/);
          expect(shown.find(({ id }) => id === 'as-before')?.lead, path).toContain(stop);
        }
      }
    }
    const neverShort = walked.filter(({ reply }) => !isShort(reply));
    expect(neverShort.length).toBeGreaterThan(5);
  });

  it('says a caution as new once for each phone and person', () => {
    const bot = testBot();
    const first = bot.say('/trace start "dead, no charge" model:glued-front-home-sensor');
    const news = (reply: Reply) => reply.cautions.filter(({ brief }) => !brief).map(({ id }) => id);
    expect(news(first)).toEqual(['unknown-cell']);
    expect(news(bot.say('/trace show'))).toEqual([]);
    expect(news(bot.say('/trace show', { as: 'Moss' }))).toEqual(['unknown-cell']);
    const later = new Date(bot.now.getTime() + 13 * 3600_000);
    expect(news(bot.say('/trace show', { now: later }))).toEqual(['unknown-cell']);
  });

  it('asks, says what is needed and the two likeliest, and leaves the rest for the back', () => {
    const bot = testBot();
    const reply = bot.say('/trace start "dead, no charge" model:glued-front-home-sensor');
    const words = JSON.stringify(frontOf(reply).blocks);
    expect(words).toContain('Does it charge?');
    expect(words).toMatch(/About \d+ min/);
    expect(words).toMatch(/Likeliest: .* \d+ %, .* \d+ %/);
    const behind = JSON.stringify(here(backOf(reply)).blocks);
    for (const part of ['Chance that it has this', 'Why this one', 'What each answer would mean']) {
      expect(words).not.toContain(part);
      expect(behind).toContain(part);
    }
    // Everything is in the document that programs read.
    expect(wordsOf(reply)).toContain('Why this one');
  });

  it('has opening as a step of its own, with its own cautions; how is on the back', () => {
    const opening = walked.filter(({ reply }) => traceData.safeParse(reply.data).data?.state === 'opening');
    expect(opening.length).toBeGreaterThan(5);
    for (const { reply, path } of opening) {
      expect(reply.choices[0]?.label, path).toBe('It is open');
      expect(JSON.stringify(here(backOf(reply)).blocks), path).toContain('How it opens');
      expect(JSON.stringify(frontOf(reply).blocks), path).not.toContain('How it opens');
      expect(
        reply.choices.some(({ danger }) => danger),
        path,
      ).toBe(true);
    }
    for (const { reply, path } of walked) {
      const { data } = traceData.safeParse(reply.data);
      if (!data?.step || data.state === 'opening') continue;
      const { checks, remedies } = knowledge();
      const step = checks.get(data.step.id) ?? remedies.get(data.step.id);
      if (step && step.access !== 'closed' && data.state !== 'stop')
        expect(data.reached, path).toBeGreaterThan(0);
    }
  });

  it('is at most 16 lines high at 80 columns in all but a few, and never above 21', () => {
    const heights = walked.filter(({ reply }) => isShort(reply)).map(({ reply }) => linesOf(reply));
    expect(heights.length).toBeGreaterThan(50);
    expect(Math.max(...heights)).toBeLessThanOrEqual(21);
    expect(heights.filter((lines) => lines > 16).length / heights.length).toBeLessThan(0.08);
  });
});

describe('the back', () => {
  it('has all cautions whole, no choices and no files, and nothing behind it again', () => {
    for (const { reply, path } of walked.filter((one) => hasBack(one.reply))) {
      const back = here(backOf(reply));
      expect(
        back.cautions.map(({ id }) => id),
        path,
      ).toEqual(reply.cautions.map(({ id }) => id));
      for (const { points } of back.cautions) expect(points.join(' '), path).toContain('/caution');
      expect(back.choices, path).toEqual([]);
      expect(hasBack(back), path).toBe(false);
    }
  });

  it('and the front together have every block once', () => {
    for (const { reply, path } of walked.filter((one) => hasBack(one.reply))) {
      const bare = (blocks: Reply['blocks']) =>
        blocks.map(({ back: _, ...block }) => JSON.stringify(block)).sort();
      const both = [...frontOf(reply).blocks, ...here(backOf(reply)).blocks];
      expect(bare(both), path).toEqual(bare(reply.blocks));
    }
  });

  it('is what no refusal has', () => {
    const bot: TestBot = testBot();
    const refused = bot.say('/nothing it smokes and hisses');
    expect(refused.outcome).toBe('refused');
    expect(hasBack(refused)).toBe(false);
    // A danger that was typed is whole there too.
    const cards = frontOf(refused).cautions;
    expect(cards.some(({ tone, points }) => tone === 'danger' && points.length > 1)).toBe(true);
  });
});
