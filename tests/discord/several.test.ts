/** Several answers at once, in a menu of which several entries can be chosen. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { notNull, type Stage, stage, titleOf, wordsOn } from './bot.ts';

let on: Stage;
beforeEach(async () => {
  on = await stage();
  await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});

describe('the functions before a phone is closed', () => {
  const begin = async () => {
    const answers = { ownership: 'shown', lock: 'free', stolen: 'clear' };
    await on.moss.use('job', 'open', { model: 'Orrin K3', came: 'given', symptoms: 'dim', ...answers });
    return notNull((await on.moss.use('job', 'test', {})).message);
  };
  const kept = () => {
    const [collective] = on.database.collectives.list();
    if (!collective) throw new Error('no collective');
    const job = on.database.of(collective).jobs.get(1);
    return (job?.entries ?? []).flatMap((one) =>
      one.entry.kind === 'test' ? [[one.entry.function, one.entry.result]] : [],
    );
  };

  it('pass group by group with a tap each, in one message', async () => {
    const message = await begin();
    let taps = 0;
    for (;;) {
      const all = on.moss.labels(message).find((label) => /^All \d+ pass$|^Passes$/.test(label));
      if (!all) break;
      const seen = await on.moss.press(message, all);
      expect(seen.inPlace).toBe(true);
      taps += 1;
    }
    // As many as this family has groups of them.
    expect(taps).toBe(4);
    expect(kept().length).toBeGreaterThan(15);
    expect(kept().every(([, result]) => result === 'pass')).toBe(true);
  });

  it('that fail are picked together, and so are those that cannot be tested', async () => {
    const message = await begin();
    const [fails, waived] = on.moss.menus(message);
    expect([fails?.asks, waived?.asks]).toEqual(['What fails?', 'What cannot be tested here?']);
    expect(fails?.entries).toEqual(['Start and rest', 'Display', 'Touch']);
    expect(fails?.most).toBe(3);
    const seen = await on.moss.choose(message, 'Display', 'Touch');
    expect(seen.inPlace).toBe(true);
    expect(kept()).toEqual([
      ['display', 'fail'],
      ['touch', 'fail'],
    ]);
    expect(on.moss.labels(message)).toContain('Passes');
  });

  it('picked from a card that is out of date change nothing, and the newest state is shown', async () => {
    const message = await begin();
    const stale = { ...message };
    await on.moss.press(message, 'All 3 pass');
    const before = kept();
    const late = await on.moss.choose(stale, 'Display', 'Touch');
    expect(wordsOn(late.message)).toContain('out of date');
    expect(titleOf(late.message)).toContain('being tested');
    expect(kept()).toEqual(before);
  });
});

describe('symptoms that are missing', () => {
  it('are picked from menus by group, several at once, with what was typed kept', async () => {
    const refused = notNull((await on.moss.use('trace', 'start', { model: 'Orrin K3' })).message);
    const menus = on.moss.menus(refused);
    expect(menus.map(({ asks }) => asks)).toEqual([
      'Power, charging, heat',
      'Picture, touch, frame',
      'Its past, its system, anything else',
      'Sound, cameras, radios, buttons',
    ]);
    expect(menus.flatMap(({ entries }) => entries)).toHaveLength(62);
    const started = await on.moss.choose(refused, 'dead, no sign of life', 'does not charge');
    expect(titleOf(started.message)).not.toMatch(/^✗/);
    const [collective] = on.database.collectives.list();
    const trace = collective && on.database.of(collective).traces.get(1);
    expect(trace?.symptoms).toEqual(['dead', 'no-charge']);
  });
  it('can be typed all the same; a model that is missing is a button, or an entry of a menu where there are many', async () => {
    const missing = () => on.moss.use('trace', 'start', { symptoms: 'dead, no charge' });
    const started = await on.moss.press(notNull((await missing()).message), 'Orrin K3');
    expect(titleOf(started.message)).not.toMatch(/^✗/);
    for (let number = 1; number <= 22; number += 1)
      await on.ines.use('family', 'name', {
        model: `Vesper ${number}`,
        as: 'glued-front-home-sensor',
        sure: 'yes',
      });
    const again = await on.moss.choose(notNull((await missing()).message), 'Vesper 22');
    expect(titleOf(again.message)).not.toMatch(/^✗/);
    const [collective] = on.database.collectives.list();
    expect(collective && on.database.of(collective).traces.get(2)?.symptoms).toEqual(['dead', 'no-charge']);
  });
});
