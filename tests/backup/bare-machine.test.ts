import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { run } from '../kills/programs.ts';
import { canInstall, type Installation, install } from '../starting/installation.ts';
import { restoreOn } from './bare-machine.ts';

const TIME = 600_000;
let folder = '';
let machine: Installation;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-lost-'));
  machine = install();
}, TIME);
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
  machine.remove();
});

describe.skipIf(!canInstall)('a bare machine', () => {
  it('has all of it back from a copy and the key', { timeout: TIME }, async () => {
    const data = join(folder, 'data');
    const start = async (...given: string[]) =>
      (await run({ arguments: ['--data', data, '--as', 'Ines:steward', ...given] }).ended).code;
    const open = '/job open "Orrin K3" imei:490154203237518 ownership:shown lock:free stolen:clear';
    expect(
      await start('--run', '/family name model:"Orrin K3" as:glued-front-home-sensor', '--run', open),
    ).toBe(0);
    expect(await start('--in', 'direct', '--run', '/note add "the customer waits"')).toBe(0);
    const copy = join(folder, 'copy.sqlite');
    expect(await start('--backup', copy)).toBe(0);
    const { said } = restoreOn(machine, {
      copy,
      key: join(data, 'key'),
      person: 'Ines',
      line: '/note list',
    });
    const [restored, checked, answered] = said;
    expect(said.map(({ status, err }) => ({ status, err }))).toEqual(
      said.map(() => ({ status: 0, err: '' })),
    );
    expect(restored?.out).toContain('holds 1 job, 0 prices, 1 note, newest entry');
    expect(restored?.out).toMatch(/Put the copy of the key at .*back\/key/);
    expect(checked?.out).toContain('are sound');
    expect(answered?.out).toContain('the customer waits');
  });
});
