/** The log of faults, as a file of JSON lines. */
import { fstatSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { isJournal, logTo } from '../../src/environment/log.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
});
afterEach(() => {
  vi.restoreAllMocks();
  rmSync(folder, { recursive: true });
});
const linesOf = (file: string): unknown[] =>
  readFileSync(file, 'utf8')
    .trimEnd()
    .split('\n')
    .map((line) => JSON.parse(line));

describe('the log', () => {
  it('has a line for each fault and each piece of news, with its level, time and id', () => {
    const file = join(folder, 'log');
    const log = logTo({ file });
    log('aB3', new RangeError('no such zone'));
    log('discord', 'the connection is lost; trying again');
    expect(linesOf(file)).toEqual([
      {
        level: 'error',
        time: expect.stringMatching(/^\d{4}-\d\d-\d\dT[\d:.]+Z$/),
        pid: process.pid,
        id: 'aB3',
        err: {
          type: 'RangeError',
          message: 'no such zone',
          stack: expect.stringMatching(/^RangeError: no such zone\n +at /),
        },
        msg: 'no such zone',
      },
      expect.objectContaining({ level: 'info', id: 'discord', msg: 'the connection is lost; trying again' }),
    ]);
    expect(statSync(file).mode & 0o777).toBe(0o600);
  });
  it('leaves out what a library keeps beside an error, such as the message that was to be sent', () => {
    const file = join(folder, 'log');
    logTo({ file })(
      'x',
      Object.assign(new Error('Missing Access'), { requestBody: { json: { content: 'PIN is 4071' } } }),
    );
    expect(readFileSync(file, 'utf8')).not.toContain('4071');
  });
  it('goes on in a new file when the system has put the old one away', () => {
    const file = join(folder, 'log');
    const log = logTo({ file });
    log('one', 'before');
    renameSync(file, `${file}.1`);
    log('two', 'after');
    expect(linesOf(`${file}.1`)).toMatchObject([{ id: 'one' }]);
    expect(linesOf(file)).toMatchObject([{ id: 'two' }]);
  });
  it('goes to standard error where it cannot be written', () => {
    const said: string[] = [];
    vi.spyOn(process.stderr, 'write').mockImplementation((line) => {
      said.push(String(line));
      return true;
    });
    for (const place of [{ file: join(folder, 'not', 'there') }, null]) logTo(place)('id', new Error('full'));
    expect(said.map((line) => JSON.parse(line))).toMatchObject([
      { id: 'id', msg: 'full' },
      { id: 'id', msg: 'full' },
    ]);
  });
  it('is put away when it is large, in place of the one before, and so never grows without bound', () => {
    const file = join(folder, 'log');
    const log = logTo({ file }, { bytes: 2000 });
    for (let i = 0; i < 100; i += 1) log('news', `line ${i} ${'x'.repeat(100)}`);
    expect(readdirSync(folder).sort()).toEqual(['log', 'log.1']);
    expect(statSync(file).size + statSync(`${file}.1`).size).toBeLessThan(2 * 2300);
    expect(linesOf(file).at(-1)).toMatchObject({ msg: expect.stringMatching(/^line 99 /) });
  });
  it('has a level that the journal of systemd understands before each line there', () => {
    const said: string[] = [];
    vi.spyOn(process.stderr, 'write').mockImplementation((line) => {
      said.push(String(line));
      return true;
    });
    const log = logTo('journal');
    log('aB3', new Error('no such zone'));
    log('discord', 'the connection is lost; trying again');
    // sd-daemon(3): SD_ERR is "<3>", SD_INFO is "<6>".
    expect(said.map((line) => line.slice(0, 3))).toEqual(['<3>', '<6>']);
    expect(said.map((line) => JSON.parse(line.slice(3)))).toMatchObject([
      { level: 'error', id: 'aB3', err: { stack: expect.stringContaining('log.test.ts') } },
      { level: 'info', id: 'discord' },
    ]);
  });
  it('knows the journal by its device and inode, and by no name that was inherited', () => {
    const { dev, ino } = fstatSync(2);
    expect(isJournal({ JOURNAL_STREAM: `${dev}:${ino}` })).toBe(true);
    expect(isJournal({ JOURNAL_STREAM: `${dev}:${ino + 1}` })).toBe(false);
    expect(isJournal({})).toBe(false);
  });
});
