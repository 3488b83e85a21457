/** What is kept of earlier answers never shows: an answer after any changes is the one of a bot that was never asked before. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { knowledge, type TestBot, testBot } from '../test-bot.ts';

const asked = [
  '/worth "Orrin K3" price:60 symptoms:dead',
  '/worth "Orrin K3" price:61 symptoms:dead',
  '/worth "Orrin K3" symptoms:drains-fast damage:"back cover"',
  '/worth "Orrin K3" price:20 symptoms:swollen',
  '/worth "Orrin K3" price:30 condition:good keep:yes symptoms:no-service',
];
const change = fc.oneof(
  fc.integer({ min: 90, max: 260 }).map((price) => `/prices add "Orrin K3" price:${price} sure:yes`),
  fc
    .tuple(fc.constantFrom('battery', 'display-assembly'), fc.integer({ min: 9, max: 80 }))
    .map(([part, price]) => `/prices add "Orrin K3" price:${price} component:${part} grade:copy sure:yes`),
  fc.integer({ min: 1, max: 5 }).map((number) => `/prices remove ${number}`),
  fc.integer({ min: 0, max: 60 }).map((rate) => `/setup rate:${rate}`),
  fc.integer({ min: 0, max: 300 }).map((bear) => `/setup bear:${bear}`),
  fc.integer({ min: 10, max: 90 }).map((service) => `/setup service:${service}`),
  fc.integer({ min: 0, max: 30 }).map((share) => `/setup margin:${share}% selling-cost:${share}%`),
  fc
    .integer({ min: 200, max: 900 })
    .map((price) => `/family name model:"Orrin K3" as:glued-front-home-sensor new-price:${price}`),
  fc
    .integer({ min: 1, max: 40 })
    .map((price) => `/shelf add battery of:"Orrin K3" grade:copy price:${price}`),
);

const newBot = (): TestBot => {
  // Another object of the same content: nothing that is kept by the pack is found again.
  const bot = testBot({ knowledge: { ...knowledge() } });
  bot.say('/family name model:"Orrin K3" as:glued-front-home-sensor launched:2017-09 new-price:749', {
    role: 'steward',
  });
  return bot;
};
const answersOf = (bot: TestBot) =>
  asked.map((line) => {
    const { title, blocks, data } = bot.say(line);
    return { title, blocks, data };
  });

it('an answer out of what is kept is the answer of a bot that was never asked', { timeout: 600_000 }, () => {
  let worked = 0;
  fc.assert(
    fc.property(fc.array(change, { minLength: 1, maxLength: 5 }), (changes) => {
      const old = newBot();
      answersOf(old);
      changes.forEach((line, at) => {
        if (old.say(line, { role: 'steward' }).outcome === 'answered') worked += 1;
        const fresh = newBot();
        for (const before of changes.slice(0, at + 1)) fresh.say(before, { role: 'steward' });
        expect(answersOf(old)).toEqual(answersOf(fresh));
      });
    }),
    { numRuns: 8, seed: 20_261_130 },
  );
  expect(worked).toBeGreaterThan(8);
});
