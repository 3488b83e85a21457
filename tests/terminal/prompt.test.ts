import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openPrompt } from '../../src/surfaces/terminal/prompt.ts';
import type { Session } from '../../src/surfaces/terminal/session.ts';
import { newSession, newWindow } from './new-session.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const tinShed = (): Session => newSession({ currency: 'AUD', region: 'AU' }, '2026-03-02T09:00:00Z');

/** Types the keys into a window of 80 columns; gives what stood on the screen when the person left. */
async function typed(keys: string, session = tinShed()): Promise<string> {
  const { input, output, screen } = newWindow(true);
  const left = openPrompt({
    session,
    input,
    output,
    colour: false,
    historyFile: join(folder, 'history'),
    outFolder: join(folder, 'out'),
  });
  for (const key of keys) {
    input.write(key);
    await new Promise((resolve) => setImmediate(resolve));
  }
  input.end();
  await left;
  return screen();
}

describe('the prompt', () => {
  it('says who and where, and switches both', async () => {
    const screen = await typed('/setup rate:30\r/as Otto\r/setup rate:40\r/in direct\r/quit\r');
    expect(screen).toContain('Ines @ workshop > ');
    expect(screen).toContain('Changed: rate');
    expect(screen).toContain('Otto @ workshop > ');
    expect(screen).toContain('Only a steward changes rate; you are a member here.');
    expect(screen).toContain('Otto @ direct > ');
  });
  it('refuses a person or a room that cannot be, and stays', async () => {
    const screen = await typed('/as Otto:boss\r/in attic\r/quit\r');
    expect(screen).toContain('Expected: NAME or NAME:steward');
    expect(screen).toContain('Expected: workshop, direct');
    expect(screen).not.toContain('Otto @');
  });
  it('takes a name in small letters with its role, and leaves the last choices as they are', async () => {
    const session = tinShed();
    session.say('/family name "Orrin K3" as:glued-front-home-sensor');
    const asked = session.say('/trace dead model:"Orrin K3"');
    expect(session.say('/as bram:visitor').data).toEqual({ name: 'bram', role: 'visitor' });
    expect(session.say('/as').title).toBe('who is missing.');
    expect(session.say('/in direct').data).toEqual({ where: 'direct' });
    expect(session.say('/as bram:boss')).toMatchObject({ outcome: 'refused' });
    expect([session.persona, session.direct]).toEqual([{ name: 'bram', role: 'visitor' }, true]);
    expect(session.last).toEqual(asked);
  });
  it('answers the choices of the last reply by number, and keeps them over a slip', async () => {
    const session = tinShed();
    session.say('/family name "Orrin K3" as:glued-front-home-sensor');
    const screen = await typed('/trace dead model:"Orrin K3"\r77\r1\r/quit\r', session);
    expect(screen).toContain('There is no choice 77.');
    const data = session.last?.data;
    expect(data).toMatchObject({ trace: 1, evidence: [{ by: 'Ines' }] });
  });
  it('completes commands, its own words, and names with their quotes', async () => {
    const session = tinShed();
    session.say('/family name "Orrin K3" as:glued-front-home-sensor');
    const screen = await typed('/wor\torr\tprice:20\r/qui\t\r', session);
    expect(screen).toContain('/worth "Orrin K3"');
    expect(session.last?.data).toMatchObject({ price: { amount: '20.00', currency: 'AUD' } });
  });
  it('goes on behind a name that alone begins so, where others are like it', async () => {
    const session = tinShed();
    for (const name of ['Orrin K3', 'Halden Orr'])
      session.say(`/family name "${name}" as:glued-front-home-sensor`);
    const screen = await typed('/worth "Orr\tprice:20\r/quit\r', session);
    expect(screen).toContain('"Orrin K3" ');
    expect(session.last?.data).toMatchObject({ price: { amount: '20.00', currency: 'AUD' } });
  });
  it('never shortens what was typed where the completions have nothing in common', async () => {
    const session = tinShed();
    for (const name of ['Orrin K3', 'Tarn Orr', 'Halden Orr'])
      session.say(`/family name "${name}" as:glued-front-home-sensor`);
    const screen = await typed('/prices orx\t\r/quit\r', session);
    expect(screen).toContain('called "orx"');
  });
  it('clears the line at Ctrl-C, and leaves at the second on an empty one', async () => {
    const session = tinShed();
    // The cursor is moved back first: the whole line goes, not only what is left of it.
    const screen = await typed('/setup rate:99\u001b[D\u001b[D\u0003/setup rate:31\r\u0003\u0003', session);
    expect(screen).toContain('Once more to leave');
    expect(session.say('/setup').data).toMatchObject({ settings: { hourlyRate: 31 } });
  });
  it('tells in /help what only a terminal has', async () => {
    const screen = await typed('/help\r/help as\r/quit\r');
    for (const word of ['/as,', '/in,', '/quit leaves', '/as <who>']) expect(screen).toContain(word);
  });
  it('keeps the history for its owner alone, without private notes and direct messages', async () => {
    await typed(
      [
        '/help',
        '/note 3 a private matter',
        '/NOTE add another',
        '/noet add a slip of the finger',
        '/note:glued',
        '/mydata erase',
        'note add without a slash',
        '/job open "Orrin K3" imei:490154203237518',
        '/job open "Orrin K3" IMEI:"49 015420 323751 8"',
        '/trace 490154203237518',
        '/in direct',
        '/family list',
        '/quit',
        '',
      ].join('\r'),
    );
    const file = join(folder, 'history');
    expect(readFileSync(file, 'utf8').split('\n')).toEqual(['/help', '/in direct', '']);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    // The arrow brings back the newest line of an earlier time.
    expect(await typed('\u001b[A\u001b[A\r/quit\r')).toContain('What you can say');
  });
  it('takes private lines out of a history that has some', async () => {
    writeFileSync(
      join(folder, 'history'),
      '/help\n/note add a private matter\n/job open imei:490154203237518\n',
    );
    await typed('/quit\r');
    expect(readFileSync(join(folder, 'history'), 'utf8')).toBe('/help\n');
  });
  it('keeps at most 500 lines of history', async () => {
    await typed(`${Array.from({ length: 3 }, (_, i) => `/help x${i}\r`).join('')}/quit\r`);
    const { appendFileSync } = await import('node:fs');
    appendFileSync(
      join(folder, 'history'),
      `${Array.from({ length: 600 }, (_, i) => `/help y${i}`).join('\n')}\n`,
    );
    await typed('/quit\r');
    const lines = readFileSync(join(folder, 'history'), 'utf8').trim().split('\n');
    expect(lines).toHaveLength(500);
    expect(lines.at(-1)).toBe('/help y599');
  });
  it('writes the files of replies, over no other', async () => {
    const screen = await typed('/prices export\r/prices export\r/quit\r');
    expect(screen).toContain('prices-2026-03-02.csv');
    expect(screen).toContain('prices-2026-03-02-2.csv');
    expect(readFileSync(join(folder, 'out', 'prices-2026-03-02.csv'), 'utf8')).toMatch(/^date,kind,what/);
  });
});
