import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { componentType, DANGER } from '../../src/surfaces/discord/api.ts';
import { type Stage, stage, titleOf, wordsOn } from './bot.ts';

const here = <T>(one: T | null): T => {
  if (one === null) throw new Error('not there');
  return one;
};

const partSchema = z.looseObject({
  type: z.number(),
  style: z.number().optional(),
  label: z.string().optional(),
});

let on: Stage;
beforeAll(async () => {
  on = await stage();
  await on.ines.use('family', 'name', {
    model: 'Orrin K3',
    as: 'glued-front-home-sensor',
    'new-price': '649',
  });
});
afterAll(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});
const step = () => on.moss.use('trace', 'start', { symptoms: 'dead, no charge', model: 'Orrin K3' });

describe('More', () => {
  it('shows what stands behind an answer to who taps it, alone; the answer stays as it is', async () => {
    const seen = here((await step()).message);
    expect(wordsOn(seen)).not.toContain('Why this one');
    const behind = await on.moss.press(seen, 'More');
    expect(behind).toMatchObject({ ephemeral: true, inPlace: false });
    const words = wordsOn(behind.message);
    expect(words).toContain('Why this one');
    expect(words).toContain('Chance that it has this');
    expect(words).toContain('CAUTION: Charging a cell of unknown history');
    expect(titleOf(behind.message)).toBe(titleOf(seen));
    expect(on.moss.labels(here(behind.message))).not.toContain('More');
  });

  it('can be tapped by anyone who reads the answer, and each sees it alone', async () => {
    const seen = here((await step()).message);
    const behind = await on.wren.press(seen, 'More');
    expect(behind.ephemeral).toBe(true);
    expect(wordsOn(behind.message)).toContain('Why this one');
  });

  it('works after a restart', async () => {
    const seen = here((await step()).message);
    await on.restart();
    expect(wordsOn((await on.wren.press(seen, 'More')).message)).toContain('Why this one');
  });

  it('follows the answer that took the place of another', async () => {
    const seen = here((await step()).message);
    const next = await on.moss.press(seen, 'it does not');
    expect(next.inPlace).toBe(true);
    expect(wordsOn((await on.moss.press(here(next.message), 'More')).message)).toContain('So far');
  });

  it('keeps a danger whole on the front, and has nothing to tap where all is said', async () => {
    const seen = here(
      (await on.moss.use('trace', 'start', { symptoms: 'swollen', model: 'Orrin K3' })).message,
    );
    expect(wordsOn(seen)).toContain('DANGER: Swollen cell');
    expect(wordsOn(seen)).toContain('Stop when');
    expect(on.moss.labels(seen)).not.toContain('More');
  });

  it('says that it is gone where the answer is not kept any more', async () => {
    const seen = here((await step()).message);
    const was = on.now.at;
    on.now.at = new Date(was.getTime() + 8 * 24 * 3600_000);
    // What is older is dropped when another is saved.
    await on.moss.use('help', '');
    const gone = await on.moss.press(seen, 'More');
    expect(gone.ephemeral).toBe(true);
    expect(wordsOn(gone.message)).toContain('not kept any more');
    on.now.at = was;
  });

  it('draws what else can be done as one menu, and a danger as a button of its own', async () => {
    const seen = here((await step()).message);
    const parts = z
      .array(z.object({ components: z.array(partSchema) }))
      .parse(seen.components)
      .flatMap(({ components }) => components);
    const danger = parts.filter(({ style }) => style === DANGER);
    expect(danger.map(({ label }) => label)).toEqual(['Swollen, hot, leaking…']);
    const menus = parts.filter(({ type }) => type === componentType.select);
    expect(menus).toHaveLength(1);
    expect(JSON.stringify(menus)).toContain('Stop here');
    expect(titleOf((await on.moss.choose(seen, 'Stop here')).message)).toContain('stopped');
  });
});
