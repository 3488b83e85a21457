/** Words of danger on Discord: in an option, in a form, and in a direct message; what a notification shows begins with them. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Stage, stage, wordsOn } from './bot.ts';

let on: Stage;
beforeAll(async () => {
  on = await stage();
  await on.ines.use('setup', 'change', { region: 'AU', zone: 'Australia/Sydney' });
});
afterAll(async () => {
  expect(await on.close()).toEqual([]);
});

describe('words of danger on Discord', () => {
  it('bring the card before the refusal, with the number of the place', async () => {
    const seen = await on.ines.use('trace', 'start', { symptoms: 'fire', model: 'glued-front-home-sensor' });
    const words = wordsOn(seen.message);
    expect(words).toMatch(/^Local codes and licensed practice come first\./);
    expect(words.indexOf('DANGER')).toBeGreaterThan(0);
    expect(words).toContain('000');
  });
  it('bring it with the answer of a log, and hold the job', async () => {
    await on.ines.use('job', 'open', { model: 'glued-front-home-sensor', symptoms: 'dead' });
    const seen = await on.ines.use('job', 'log', { text: 'pierced it, it smokes' });
    expect(wordsOn(seen.message)).toContain('DANGER');
    const shown = await on.ines.use('job', 'show', {});
    expect(wordsOn(shown.message)).toMatch(/cell to isolate/);
  });
});
