import { setTimeout as pause } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { defineSimpleCommand } from '../../commands/framework/command.ts';
import { fileOption, optional, textOption } from '../../commands/framework/option.ts';
import { reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { say, typed } from '../../shared/language/say.ts';
import { PNG, type Stage, type StageOptions, stage, titleOf, until, wordsOn } from './bot.ts';

/** A command of this test: its picture takes as long as the test wants, and it takes a file. */
const show = defineSimpleCommand({
  name: 'show',
  summary: typed('Show a picture'),
  options: {
    hidden: optional(textOption({ summary: typed('For the asker alone'), example: 'yes' })),
    file: optional(fileOption({ summary: typed('A file'), example: 'a.csv' })),
    plain: optional(textOption({ summary: typed('Without a picture'), example: 'yes' })),
    step: optional(textOption({ summary: typed('With a step'), example: 'yes' })),
  },
  examples: [],
  data: z.null(),
  run: ({ hidden, file, plain, step }) =>
    reply({
      audience: hidden ? 'asker' : 'room',
      title: file === undefined ? typed('A picture') : say`A file of ${file.length}`,
      files: plain
        ? []
        : [{ name: 'p.png', mime: 'image/png', alt: typed('A point.'), draw: { kind: 'p', data: null } }],
      choices: step
        ? [
            {
              label: typed('Next'),
              subject: 'trace:1',
              invoke: { command: 'show', action: '', options: {} },
            },
          ]
        : [],
    }),
});
/** Blocks the one thread, as a hard plan would. */
const busy = defineSimpleCommand({
  name: 'busy',
  summary: typed('Think hard'),
  options: {},
  examples: [],
  data: z.null(),
  run: () => {
    const end = performance.now() + 120;
    while (performance.now() < end);
    return reply({ title: typed('Thought') });
  },
});

let on: Stage;
const begin = async (options: StageOptions) => {
  on = await stage({ commands: [...commands, show, busy], deferMs: 150, ...options });
};
afterEach(async () => {
  expect(await on.close()).toEqual([]);
});
const slow = (ms: number) => ({ drawFile: () => pause(ms, PNG) });

describe('an answer that is ready in time', () => {
  it('with a picture is deferred at once, whatever it takes, and comes in the place of the waiting', async () => {
    await begin({ ...slow(10), deferMs: 20_000 });
    const seen = await on.moss.use('show', '');
    expect(seen.deferred).toBe(true);
    expect(seen.message?.attachments).toMatchObject([
      { filename: 'p.png', description: 'A point.', bytes: PNG },
    ]);
    expect(seen.message?.embeds[0]?.image).toEqual({ url: 'attachment://p.png' });
    expect(on.loopback.requests('POST', /callback$/)).toHaveLength(1);
    expect(on.loopback.requests('PATCH', /./)).toHaveLength(1);
  });

  it('is awaited no longer than half of what Discord waits', async () => {
    const { DEFER_MS } = await import('../../src/surfaces/discord/interaction-response.ts');
    // Discord waits 3 s (developer documentation, "Responding to an Interaction").
    expect(DEFER_MS).toBeLessThanOrEqual(1500);
    await begin({});
  });
});

describe('an answer that is not ready in time', () => {
  it('is deferred for those whom it is for, and then put in its place', async () => {
    await begin(slow(400));
    const room = await on.moss.use('show', '');
    expect(room).toMatchObject({ deferred: true, ephemeral: false });
    expect(room.message?.attachments).toHaveLength(1);
    const own = await on.moss.use('show', '', { hidden: 'yes' });
    expect(own).toMatchObject({ deferred: true, ephemeral: true });
    expect(titleOf(own.message)).toContain('A picture');
  });

  it('is deferred for its asker alone while it is not known whom it is for', async () => {
    await begin({});
    on.loopback.delayMs = 250;
    const file = { file: 'a.csv', bytes: Buffer.from('abc') };
    const room = await on.moss.use('show', '', { file, plain: 'yes' });
    expect(room).toMatchObject({ deferred: true, ephemeral: true });
    expect(wordsOn(room.message)).toContain('The answer is below, for everyone here');
    await until(() => room.followUps.length === 1, 'the answer below');
    expect(titleOf(room.followUps[0] ?? null)).toBe('▸ A file of 3');
    expect(room.followUps[0]?.only).toBeNull();
    const own = await on.moss.use('show', '', { file, plain: 'yes', hidden: 'yes' });
    expect(own).toMatchObject({ deferred: true, ephemeral: true });
    expect(titleOf(own.message)).toBe('▸ A file of 3');
    expect(own.followUps).toHaveLength(0);
  });

  it('to a press is put in the place of its message, with the old picture gone', async () => {
    await begin(slow(400));
    const seen = await on.moss.use('show', '', { plain: 'yes', step: 'yes' });
    if (!seen.message) throw new Error('no message');
    const pressed = await on.moss.press(seen.message, 'Next');
    expect(pressed.deferred).toBe(true);
    await until(() => (seen.message?.attachments.length ?? 0) === 1, 'the picture');
    expect(seen.message.edited).toBe(1);
  });

  it('in a direct message is deferred there', async () => {
    await begin(slow(400));
    await on.moss.use('show', '', { plain: 'yes' });
    const seen = await on.direct(on.people.moss).use('show', '');
    expect(seen).toMatchObject({ deferred: true, ephemeral: false });
    expect(seen.message?.attachments).toHaveLength(1);
  });

  it('because many come at once is deferred, and none is lost', async () => {
    await begin({});
    const started = Array.from({ length: 12 }, () => on.moss.start('busy', ''));
    const seen = await Promise.all(started.map((one) => on.moss.outcome(one)));
    expect(seen.map(({ message, followUps }) => titleOf(followUps[0] ?? message)).length).toBe(12);
    expect(seen[0]?.deferred).toBe(false);
    expect(seen.filter(({ deferred }) => deferred).length).toBeGreaterThan(5);
    for (const one of seen.filter(({ deferred }) => deferred)) {
      await until(() => one.followUps.length === 1, 'the answer below');
      expect(titleOf(one.followUps[0] ?? null)).toBe('▸ Thought');
    }
  });
});

describe('a picture', () => {
  it('that cannot be drawn leaves its words, and the log says why', async () => {
    await begin({ drawFile: () => Promise.reject(new Error('no font')) });
    const seen = await on.moss.use('show', '');
    expect(seen.message?.attachments).toEqual([]);
    const [fault] = on.faults;
    expect(wordsOn(seen.message)).toContain('A point.');
    expect(wordsOn(seen.message)).toContain(`the log has it under ${fault?.id.replace(/[_]/g, '\\_')}`);
    expect(String(fault?.error)).toContain('no font');
  });

  it('that is larger than Discord takes leaves its words', async () => {
    await begin({ drawFile: () => Promise.resolve(Buffer.alloc(10 * 1024 * 1024 + 1)) });
    const seen = await on.moss.use('show', '');
    expect(seen.message?.attachments).toEqual([]);
    expect(wordsOn(seen.message)).toContain('too large for this channel. A point.');
  });
});

describe('completions in a flood', () => {
  it('are all answered, and the command before them', async () => {
    await begin({});
    const work = on.moss.start('busy', '');
    const typed = ['d', 'de', 'dea'].map((text) => on.moss.type('worth', '', 'symptoms', text));
    expect(titleOf((await on.moss.outcome(work)).message)).toBe('▸ Thought');
    for (const offered of await Promise.all(typed))
      expect(offered.map(({ name }) => name).join()).toMatch(/dead/i);
  });
});
