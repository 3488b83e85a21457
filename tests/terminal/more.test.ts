import { describe, expect, it } from 'vitest';
import { runScript } from '../../src/surfaces/terminal/script.ts';
import { newSession } from './new-session.ts';

const session = (language: 'en' | 'de' = 'en') =>
  newSession({ currency: 'AUD', region: 'AU', language }, '2026-03-02T09:00:00Z');
const LINE = '/trace start "dead, no charge" model:glued-front-home-sensor';
async function screenOf(lines: readonly string[], json = false): Promise<string> {
  let screen = '';
  await runScript(lines, {
    session: session(),
    json,
    window: { width: 80, colour: false },
    save: null,
    write: (text) => {
      screen += text;
    },
  });
  return screen;
}

describe('more', () => {
  it('shows what stands behind the last reply, whose choices stay good', async () => {
    const bench = session();
    const first = bench.say(LINE);
    const behind = bench.say('more');
    expect(JSON.stringify(behind.blocks)).toContain('Why this one');
    expect(behind.choices).toEqual([]);
    expect(bench.last).toBe(first);
    expect(bench.say('/more')).toEqual(behind);
    expect(bench.say('1').outcome).toBe('answered');
  });

  it('is said in the language of the bench too', () => {
    const bench = session('de');
    bench.say(LINE);
    expect(bench.say('Mehr').outcome).toBe('answered');
    expect(bench.say('mehr').language).toBe('de');
  });

  it('says where there is nothing more', () => {
    expect(session().say('more').outcome).toBe('refused');
  });

  it('is said on the front; a program that reads JSON gets all of it at once', async () => {
    const front = await screenOf([LINE]);
    expect(front).toContain('“more” shows why, and the rest');
    expect(front).not.toContain('Why this one');
    expect(await screenOf([LINE, 'more'])).toContain('Why this one');
    expect(await screenOf([LINE], true)).toContain('Why this one');
  });
});
