import { homedir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readSettings, WrongSetting } from '../../src/environment/program-settings.ts';

const read = (argv: string[], environment: NodeJS.ProcessEnv = {}, colourful = true) =>
  readSettings(argv, environment, colourful);

describe('settings', () => {
  it('finds the data folder: --data, then THIRDHAND_DATA, then XDG, then the home folder', () => {
    const environment = { THIRDHAND_DATA: '/own', XDG_DATA_HOME: '/xdg' };
    expect(read(['--data', '/given'], environment).data).toBe('/given');
    expect(read([], environment).data).toBe('/own');
    expect(read([], { XDG_DATA_HOME: '/xdg' }).data).toBe(join('/xdg', 'thirdhand'));
    const home = join(homedir(), '.local', 'share', 'thirdhand');
    expect(read([]).data).toBe(home);
    // XDG Base Directory Specification: a relative path is invalid and is to be ignored.
    expect(read([], { XDG_DATA_HOME: 'xdg' }).data).toBe(home);
    expect(read([], { XDG_DATA_HOME: '' }).data).toBe(home);
  });
  it('takes colours away with NO_COLOR (any value but empty, no-color.org), without a terminal and on a dumb one', () => {
    expect(read([]).colour).toBe(true);
    expect(read([], { NO_COLOR: '1' }).colour).toBe(false);
    expect(read([], { NO_COLOR: '' }).colour).toBe(true);
    expect(read([], { TERM: 'dumb' }).colour).toBe(false);
    expect(read([], {}, false).colour).toBe(false);
  });
  it('reads who and where', () => {
    expect(read(['--as', 'Ines']).as).toEqual({ name: 'Ines', role: 'member' });
    expect(read(['--as', 'Ines:steward', '--in', 'direct'])).toMatchObject({
      as: { name: 'Ines', role: 'steward' },
      in: 'direct',
    });
    expect(read([])).toMatchObject({ as: null, in: 'workshop', collective: 'Home bench', now: null });
    expect(read(['--run', '/a', '--run', '/b']).run).toEqual(['/a', '/b']);
  });
  it.each([
    [['--as', 'Ines:boss'], '--as'],
    [['--as', ''], '--as'],
    [['--as', 'I\u001bnes'], '--as'],
    [['--in', 'attic'], '--in'],
    [['--now', 'yesterday'], '--now'],
    [['--now', '2026-02-30T09:00'], '--now'],
    [['--colour'], '--colour'],
    [['word'], 'word'],
    [['--run'], '--run'],
  ])('refuses %j, naming what was wrong', (argv, named) => {
    expect(() => read(argv)).toThrow(WrongSetting);
    expect(() => read(argv)).toThrow(named);
  });
});

it('never answers in the words of a schema', () => {
  const texts = ['data', 'collective', 'as', 'in', 'now', 'save', 'backup', 'keep', 'verify', 'restore'];
  const wrong = ['', 'x'.repeat(99), '-3', '0.5', '\u0000', 'Ines:king'];
  let refused = 0;
  for (const name of texts)
    for (const value of wrong) {
      try {
        read([`--${name}=${value}`]);
      } catch (error) {
        refused += 1;
        expect(String(error), name).not.toMatch(
          /Invalid|Too (small|big)|expected (string|number)|received|>=|Unrecognized/,
        );
      }
    }
  expect(refused).toBeGreaterThan(20);
});
