/** From a sentence on Discord to the first check: /read with it, and one button. */
import { afterAll, beforeAll, expect, it } from 'vitest';
import { type Stage, stage, titleOf } from './bot.ts';

let on: Stage;
beforeAll(async () => {
  on = await stage();
  await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
});
afterAll(async () => {
  expect(await on.close()).toEqual([]);
});

it('takes two messages on Discord', async () => {
  const text = 'Orrin K3: given, dead, 0 A, cracked corner, boots on my test cell';
  const seen = await on.moss.use('read', '', { text });
  if (!seen.message) throw new Error('no answer');
  expect(titleOf(seen.message)).toMatch(/I read: Orrin K3; .*Right\?/);
  const [yes = ''] = on.moss.labels(seen.message);
  const next = await on.moss.press(seen.message, yes);
  expect(next.message && titleOf(next.message)).toMatch(/Trace 1, Orrin K3: /);
  const [collective] = on.database.collectives.list();
  expect(collective && on.database.of(collective).traces.get(1)?.steps).toMatchObject([
    { kind: 'check', ref: 'test-cell', outcome: 'boots' },
    { kind: 'check', ref: 'charge-current', outcome: 'none' },
  ]);
});
