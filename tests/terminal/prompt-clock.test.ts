/** What takes time at the prompt: a drawing, and the clock that speaks while nobody asked. */
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { openPrompt, type PromptParts } from '../../src/surfaces/terminal/prompt.ts';
import type { Session } from '../../src/surfaces/terminal/session.ts';
import { finishJob } from '../clock/finished.ts';
import { newSession, newWindow } from './new-session.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const tinShed = (): Session =>
  newSession({ zone: 'Australia/Sydney' }, '2026-03-01T21:00:00Z', (store) =>
    finishJob(store, { endedAt: '2026-02-25T01:00:00Z' }),
  );

/** Opens a prompt, sends all at once, and gives the screen when it is closed. */
async function screenOf(typed: string, opened?: PromptParts['opened']): Promise<string> {
  const { input, output, screen } = newWindow();
  const left = openPrompt({
    session: tinShed(),
    input,
    output,
    colour: false,
    historyFile: null,
    outFolder: join(folder, 'out'),
    ...(opened ? { opened } : {}),
  });
  input.end(typed);
  await left;
  return screen();
}

it('lines typed while a picture is drawn wait for their turn, and none is lost', async () => {
  const screen = await screenOf('/week preview\n/setup rate:31\n/quit\n/setup rate:99\n');
  expect(
    readFileSync(join(folder, 'out', 'week-2026-W09.png'))
      .subarray(1, 4)
      .toString(),
  ).toBe('PNG');
  const [drawn, changed] = [screen.indexOf('Saved: '), screen.indexOf('Changed: rate')];
  expect(drawn).toBeGreaterThan(0);
  expect(changed).toBeGreaterThan(drawn);
  // What comes after leaving is not done.
  expect(screen.split('Changed: rate')).toHaveLength(2);
});

it('what the clock has to say stands on a line of its own, and nothing is said after leaving', async () => {
  let tell: ((text: string) => void) | undefined;
  const screen = await screenOf('/quit\n', (say) => {
    tell = say;
    say('The week is posted: out/week.md');
  });
  expect(screen).toContain('\nThe week is posted: out/week.md\n');
  tell?.('too late');
  expect(screen).not.toContain('too late');
  expect(existsSync(join(folder, 'out'))).toBe(false);
});
