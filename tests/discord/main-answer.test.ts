/** The answer that goes on is the blue button ("Button Styles": primary), a danger the red one, and every other is grey. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { DANGER, PRIMARY, SECONDARY } from '../../src/surfaces/discord/api.ts';
import { type Stage, stage, titleOf } from './bot.ts';
import { objectsIn, textIn } from './loopback/rules.ts';
import type { Message } from './loopback/world.ts';

let on: Stage;
beforeAll(async () => {
  on = await stage();
  await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
});
afterAll(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});

const here = (message: Message | null): Message => {
  if (!message) throw new Error('no message');
  return message;
};
/** The buttons of a message by their style. */
function styled(message: Message): Record<'main' | 'danger' | 'other', string[]> {
  const buttons = message.components
    .flatMap((row) => objectsIn(row.components))
    .filter(({ type }) => type === 2);
  const of = (wanted: number) =>
    buttons.flatMap(({ style, label }) => (style === wanted ? [textIn(label)] : []));
  const made = { main: of(PRIMARY), danger: of(DANGER), other: of(SECONDARY) };
  expect(made.main.length + made.danger.length + made.other.length).toBe(buttons.length);
  return made;
}

describe('the main answer', () => {
  it('of words that were read is the likeliest thing to go on with', async () => {
    const text = 'Orrin K3: given, dead, 0 A';
    const seen = here((await on.moss.use('read', '', { text })).message);
    expect(titleOf(seen)).toMatch(/I read: .*Right\?/);
    const { main, other } = styled(seen);
    expect(main).toEqual(['Yes: take it in and find the fault']);
    expect(other).toContain('Yes: what is it worth');
  });

  it('of words that were read of any phone is none, where each of those known is as likely', async () => {
    const { main, other } = styled(
      here((await on.moss.use('read', '', { text: 'dead, no charge' })).message),
    );
    expect(main).toEqual([]);
    expect(other).toContain('Yes, and it is: Orrin K3');
  });

  it('of a remedy that was done is that it works; of a question in a trace there is none', async () => {
    let seen = here(
      (await on.moss.use('trace', 'start', { symptoms: 'dead, no charge', model: 'Orrin K3' })).message,
    );
    expect(styled(seen)).toMatchObject({ main: [], danger: ['Swollen, hot, leaking…'] });
    for (let taps = 0; taps < 20 && !on.moss.labels(seen).includes('Done: it works'); taps += 1) {
      const answers = styled(seen).other.filter((label) => label !== 'More');
      const [answer = ''] = answers.filter((label) => label !== 'it does');
      const open = answers.find((label) => label === 'It is open');
      seen = here((await on.moss.press(seen, open ?? answer)).message);
    }
    const { main, other } = styled(seen);
    expect(main).toHaveLength(1);
    expect(main[0]).toMatch(/^Done: (it works|all gone)$/);
    expect(other).toContain('Done: no change');
  });

  it('of an entry that was read, and of an answer in other words, is Yes', async () => {
    await on.moss.use('job', 'open', { model: 'Orrin K3', came: 'given', symptoms: 'dead, no charge' });
    const entry = here((await on.moss.use('job', 'log', { text: '45 min', job: '1' })).message);
    expect(titleOf(entry)).toMatch(/I read: 45 min/);
    expect(styled(entry)).toMatchObject({ main: ['Yes'], other: ['Keep it as words'] });
    await on.moss.use('trace', 'start', { job: '1' });
    const said = here((await on.moss.use('read', '', { text: 'boots on my test cell' })).message);
    expect(titleOf(said)).toMatch(/I read: .*Right\?/);
    expect(styled(said).main).toEqual(['Yes']);
  });
});
