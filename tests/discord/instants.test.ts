/**
 * Instants are drawn by Discord, in the zone of whoever reads them. That a mark of this form is drawn so: Discord's developer
 * documentation, "Message Formatting" (timestamp styles).
 */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { defineSimpleCommand } from '../../commands/framework/command.ts';
import { reply, table, text } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { dateOf, instant, plain, typed, verbatim } from '../../shared/language/say.ts';
import { type Stage, stage, titleOf, wordsOn } from './bot.ts';

/** 2026-03-02T09:00:00Z, the time of the stage, in seconds since 1970 (`date -u -d 2026-03-02T09:00Z +%s`). */
const NOW = 1_772_442_000;

const at = new Date(NOW * 1000);
const day = instant(at, 'day', dateOf(at, { timeZone: 'UTC', dateStyle: 'long' }));
/** What somebody wrote, in both forms that the surface has for an instant. */
const forged: string = ['Quince', `\uE002${NOW}:F:never\uE003`, `\uE002${NOW}:F\uE003`].join(' ');
/** Speaks of an instant wherever a reply can. */
const moment = defineSimpleCommand({
  name: 'moment',
  summary: typed('Says when'),
  options: {},
  data: z.null(),
  examples: ['/moment'],
  run: () =>
    reply({
      title: plain`Since ${day}`,
      blocks: [
        text(plain`It ran from ${day} on, and so did another: ${day}.`, plain`of ${day}`),
        text(verbatim(forged)),
        table([typed('What'), typed('When')], [[typed('run'), day]]),
      ],
      choices: [{ label: plain`As on ${day}`, invoke: { command: 'moment', action: '', options: {} } }],
      files: [{ name: 'when.txt', mime: 'text/plain', alt: day, text: day }],
    }),
});

let on: Stage;
beforeEach(async () => {
  on = await stage({ commands: [...commands, moment] });
  await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});

describe('an instant', () => {
  it('with its time is drawn with its time: when the next weekly post goes out', async () => {
    await on.ines.use('setup', 'change', { zone: 'Asia/Tokyo', 'week-day': 'monday', 'week-hour': '9' });
    const words = wordsOn((await on.ines.use('week', 'on', {})).message);
    // Monday 9 March, 09:00 in Tokyo, is midnight in Greenwich: six days and 15 hours from now.
    expect(words).toContain(`goes out on <t:${NOW + (6 * 24 + 15) * 3600}:F>`);
    expect(words).not.toContain('March');
  });

  it('of which only the day counts is drawn as a day', async () => {
    await on.ines.use('job', 'open', { model: 'Orrin K3', came: 'given', symptoms: 'dead' });
    const seen = await on.ines.use('job', 'show', { job: '1' });
    const more = seen.message && on.ines.labels(seen.message).includes('More');
    const all = more && seen.message ? await on.ines.press(seen.message, 'More') : seen;
    expect(wordsOn(seen.message) + wordsOn(all.message)).toContain(`given, <t:${NOW}:d>`);
  });

  it('stands in its words where nothing is drawn: in a title, a heading, a table, a label and a file', async () => {
    const seen = await on.moss.use('moment', '');
    expect(titleOf(seen.message)).toContain('Since 2 March 2026');
    const words = wordsOn(seen.message);
    expect(words).toContain(`It ran from <t:${NOW}:d> on, and so did another: <t:${NOW}:d>.`);
    expect(words).toMatch(/of 2 March 2026\W/);
    expect(words).toMatch(/run +2 March 2026/);
    expect(words.match(/<t:/g)).toHaveLength(2);
    expect(seen.message && on.moss.labels(seen.message)).toEqual(['As on 2 March 2026']);
    expect(seen.message?.attachments[0]?.bytes.toString()).toBe('2 March 2026');
  });

  it('cannot be made of what somebody wrote', async () => {
    const words = wordsOn((await on.moss.use('moment', '')).message);
    expect(words).toContain('Quince');
    expect(words.match(/<t:\d+:F>/g)).toBeNull();
  });
});
