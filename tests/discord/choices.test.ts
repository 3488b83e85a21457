import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { defineSimpleCommand } from '../../commands/framework/command.ts';
import { optional, textOption } from '../../commands/framework/option.ts';
import { type DraftChoice, reply, text } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { typed } from '../../shared/language/say.ts';
import { notNull, type Stage, stage, titleOf, wordsOn } from './bot.ts';
import type { Message } from './loopback/world.ts';

const invoke = (says: string) => ({ command: 'offer', action: '', options: { says } });
/** A command of this test: it offers as many choices as it is asked for. */
const offer = defineSimpleCommand({
  name: 'offer',
  summary: typed('Offer choices'),
  options: {
    says: optional(textOption({ summary: typed('What was chosen'), example: 'a' })),
    labels: optional(textOption({ summary: typed('What to offer'), example: 'a, b', max: 4000 })),
    open: optional(textOption({ summary: typed('For everyone'), example: 'yes' })),
    hidden: optional(textOption({ summary: typed('For the asker alone'), example: 'yes' })),
  },
  examples: [],
  data: z.null(),
  run: ({ says, labels = '', open, hidden }) =>
    reply({
      audience: hidden ? 'asker' : 'room',
      title: says ? typed(`You chose ${says}`) : typed('Choose'),
      choices: labels
        .split(', ')
        .filter(Boolean)
        .map(
          (label): DraftChoice => ({
            label: typed(label),
            invoke: invoke(label.slice(0, 150)),
            ...(open ? { open: true } : {}),
          }),
        ),
    }),
});
const long = defineSimpleCommand({
  name: 'long',
  summary: typed('Say much'),
  options: { hidden: optional(textOption({ summary: typed('For the asker alone'), example: 'yes' })) },
  examples: [],
  data: z.null(),
  run: ({ hidden }) =>
    reply({
      audience: hidden ? 'asker' : 'room',
      title: typed('Long'),
      blocks: ['one', 'two', 'three'].map((name) => text(typed(`${'word '.repeat(450)}${name}`))),
      choices: [{ label: typed('Again'), invoke: { command: 'long', action: '', options: {} } }],
    }),
});

let on: Stage;
beforeAll(async () => {
  on = await stage({ commands: [...commands, offer, long] });
  await on.ines.use('family', 'name', {
    model: 'Orrin K3',
    as: 'glued-front-home-sensor',
    launched: '2017-09',
    'new-price': '649',
  });
});
afterAll(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});

const fail = (): never => {
  throw new Error('not there');
};
const labels = (count: number, words = 'Choice') =>
  Array.from({ length: count }, (_, i) => `${words} ${i + 1}`).join(', ');

describe('choices', () => {
  it('that do not all fit are short ones as buttons and the others in a menu, where they are few', async () => {
    const long = 'gone is “dead” alone and the rest is as before';
    const seen = await on.moss.use('offer', '', {
      labels: [
        'All of it is gone',
        `Done: ${long}`,
        `Only this: ${long}`,
        `But that: ${long}`,
        'No change',
      ].join(', '),
    });
    const message = notNull(seen.message);
    expect(message.components).toMatchObject([
      { components: [{ label: 'All of it is gone' }, { label: 'No change' }] },
      { components: [{ placeholder: 'Another answer', options: [{}, {}, {}] }] },
    ]);
    const chosen = await on.moss.press(message, 'No change');
    expect(titleOf(chosen.message)).toContain('You chose No change');
  });
  it('are buttons, five in a row, and are answered below', async () => {
    const seen = await on.moss.use('offer', '', { labels: labels(7) });
    const message = notNull(seen.message);
    expect(message.components).toHaveLength(2);
    const chosen = await on.moss.press(message, 'Choice 6');
    expect(chosen).toMatchObject({ inPlace: false, ephemeral: false });
    expect(titleOf(chosen.message)).toBe('▸ You chose Choice 6');
  });

  it('are a menu where there are many, and several menus where one has no room', async () => {
    const seen = await on.moss.use('offer', '', { labels: labels(30) });
    const message = notNull(seen.message);
    expect(on.moss.labels(message)).toHaveLength(30);
    expect(message.components).toHaveLength(2);
    const chosen = await on.moss.choose(message, 'Choice 29');
    expect(titleOf(chosen.message)).toBe('▸ You chose Choice 29');
  });

  it('that are too long for a menu are told whole', async () => {
    const words = 'x'.repeat(130);
    const seen = await on.moss.use('offer', '', { labels: `${words}1, ${words}2` });
    const message = notNull(seen.message);
    expect(wordsOn(message)).toContain(`- ${words}2`);
    const [first = ''] = on.moss.labels(message);
    expect(first).toHaveLength(100);
    expect(titleOf((await on.moss.choose(message, first)).message)).toContain('You chose xxx');
  });

  it('are for who was asked, unless they are for everyone', async () => {
    const own = notNull((await on.moss.use('offer', '', { labels: 'A' })).message);
    const refused = await on.wren.press(own, 'A');
    expect(refused.ephemeral).toBe(true);
    expect(wordsOn(refused.message)).toContain('That choice is for somebody else.');
    const open = notNull((await on.moss.use('offer', '', { labels: 'A', open: 'yes' })).message);
    expect(titleOf((await on.wren.press(open, 'A')).message)).toBe('▸ You chose A');
  });

  it('are answered once when Discord delivers the press twice', async () => {
    const message = notNull((await on.moss.use('offer', '', { labels: 'A' })).message);
    const before = on.loopback.world
      .seenIn(on.channel.id)
      .filter((one) => titleOf(one) === '▸ You chose A').length;
    const interaction = on.moss.startPress(message, 'A');
    on.loopback.interactions.repeat(interaction);
    const seen = await on.moss.outcome(interaction);
    expect(titleOf(seen.message)).toBe('▸ You chose A');
    // Whatever becomes of the second delivery is over before this is answered.
    await on.moss.use('trace', 'list', {});
    expect(seen.followUps).toEqual([]);
    const titles = on.loopback.world.seenIn(on.channel.id).map(titleOf);
    expect(titles.filter((title) => title === '▸ You chose A')).toHaveLength(before + 1);
  });

  it('of a version that is not known are refused kindly', async () => {
    const message = notNull((await on.moss.use('offer', '', { labels: 'A' })).message);
    message.components = [{ type: 1, components: [{ type: 2, style: 2, label: 'Old', custom_id: 'x|1' }] }];
    const seen = await on.moss.press(message, 'Old');
    expect(seen.ephemeral).toBe(true);
    expect(wordsOn(seen.message)).toContain('older version');
  });
});

describe('a trace', () => {
  /** A trace that asks for a check, and the answer to it that is offered first. */
  async function asked(): Promise<{ message: Message; outcome: string }> {
    const message = notNull(
      (await on.moss.use('trace', 'start', { symptoms: 'dead', model: 'Orrin K3' })).message,
    );
    const [first = ''] = on.moss.labels(message);
    if (first.startsWith('Go on anyway')) await on.moss.press(message, first);
    return { message, outcome: on.moss.labels(message)[0] ?? '' };
  }

  it('goes on in its own message, by buttons, over a restart', async () => {
    const { message, outcome } = await asked();
    const before = wordsOn(message);
    await on.restart();
    const next = await on.moss.press(message, outcome);
    expect(next).toMatchObject({ inPlace: true, ephemeral: false });
    expect(next.message?.id).toBe(message.id);
    expect(wordsOn(message)).not.toBe(before);
    expect(on.database.of(on.database.collectives.list()[0] ?? fail()).traces.get(1)?.steps).toHaveLength(1);
  });

  it('shows how it stands now where a step that is out of date is pressed, and does nothing else', async () => {
    const { message, outcome } = await asked();
    const stale = { ...message };
    await on.moss.press(message, outcome);
    const after = on.moss.labels(message);
    const steps = () => on.database.of(on.database.collectives.list()[0] ?? fail()).traces.get(1)?.steps;
    const before = steps();
    const shown = await on.moss.press(stale, outcome);
    expect(shown).toMatchObject({ ephemeral: false, inPlace: true });
    expect(wordsOn(shown.message)).toContain('out of date');
    expect(on.moss.labels(notNull(shown.message))).toEqual(after);
    expect(steps()).toEqual(before);
  });

  it('has what it was offered beside it answered below', async () => {
    const seen = await on.moss.use('trace', 'start', { symptoms: 'dead', model: 'Orrin K3' });
    const message = notNull(seen.message);
    const stopped = await on.moss.use('trace', 'list', {});
    const button = on.moss
      .labels(notNull(stopped.message))
      .find((label) => label.startsWith('Go on with trace'));
    if (!button) throw new Error('nothing to go on with');
    const shown = await on.moss.press(notNull(stopped.message), button);
    expect(shown.inPlace).toBe(false);
    expect(message.edited).toBe(0);
  });
});

describe('a long answer', () => {
  it('has its pages behind buttons, which turn the same message, over a restart', async () => {
    const message = notNull((await on.moss.use('long', '', {})).message);
    expect(on.moss.labels(message)).toEqual(['Again', 'Previous', 'Next']);
    expect(wordsOn(message)).toContain('Page 1 of 3');
    const turned = await on.moss.press(message, 'Next');
    expect(turned.inPlace).toBe(true);
    expect(wordsOn(message)).toMatch(/two[\s\S]*Page 2 of 3/);
    await on.restart();
    await on.moss.press(message, 'Next');
    expect(wordsOn(message)).toMatch(/three[\s\S]*Page 3 of 3/);
    expect(() => on.moss.startPress(message, 'Next')).toThrow('off');
    await on.moss.press(message, 'Previous');
    expect(wordsOn(message)).toContain('Page 2 of 3');
    expect(titleOf((await on.moss.press(message, 'Again')).message)).toBe('▸ Long');
  });

  it('gives somebody else a page of their own', async () => {
    const message = notNull((await on.moss.use('long', '', {})).message);
    const copy = await on.wren.press(message, 'Next');
    expect(copy).toMatchObject({ ephemeral: true, inPlace: false });
    expect(wordsOn(copy.message)).toContain('Page 2 of 3');
    expect(wordsOn(message)).toContain('Page 1 of 3');
    // And that is theirs to turn.
    const turned = await on.wren.press(notNull(copy.message), 'Next');
    expect(turned.inPlace).toBe(true);
    expect(wordsOn(copy.message)).toContain('Page 3 of 3');
  });

  it('for its asker alone is turned by them alone', async () => {
    const seen = await on.moss.use('long', '', { hidden: 'yes' });
    expect(seen.ephemeral).toBe(true);
    await on.moss.press(notNull(seen.message), 'Next');
    expect(wordsOn(seen.message)).toContain('Page 2 of 3');
    expect(() => on.wren.startPress(notNull(seen.message), 'Next')).toThrow('does not see');
  });

  it('whose pages are not kept any more says so', async () => {
    const message = notNull((await on.moss.use('long', '', {})).message);
    on.now.at = new Date(on.now.at.getTime() + 8 * 24 * 3600 * 1000);
    await on.moss.use('long', '', {});
    const seen = await on.moss.press(message, 'Next');
    expect(seen.ephemeral).toBe(true);
    expect(wordsOn(seen.message)).toContain('not kept any more');
  });
});
