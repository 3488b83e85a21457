/**
 * How long a bare machine takes to have its store back, of a busy collective's year: `npm run node tests/bench/bare-machine.ts`.
 * Installing the program is not in it.
 */
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { loadKnowledge } from '../../knowledge/load.ts';
import { build } from '../../src/build.ts';
import { backUp } from '../../src/store/backup.ts';
import { openSealedStore } from '../../src/store/sealed-store.ts';
import { restoreOn } from '../backup/bare-machine.ts';
import { install } from '../starting/installation.ts';
import { BUSY_YEAR, fillYear } from './year.ts';

await build({ ifStale: true });
const folder = mkdtempSync(join(tmpdir(), 'thirdhand-bare-'));
const machine = install();
try {
  const data = join(folder, 'data');
  const { database } = openSealedStore({ data });
  const now = new Date();
  const collective = database.collectives.create('Home bench');
  fillYear(database, collective, loadKnowledge(), now, BUSY_YEAR);
  database.of(collective).notes.add('terminal:Ines', { text: 'the customer waits', job: null }, now);
  database.close();
  const copy = join(folder, 'copy.sqlite');
  const from = performance.now();
  const { lines } = backUp({ data, target: copy, keep: null, replace: false, now });
  process.stdout.write(`${lines[0]}\n`);
  const row = (name: string, value: number) =>
    process.stdout.write(`${name.padEnd(24)}${value.toFixed(2).padStart(8)}\n`);
  row('backup.MB', statSync(copy).size / 1e6);
  row('backup.s', (performance.now() - from) / 1000);
  const { said } = restoreOn(machine, {
    copy,
    key: join(data, 'key'),
    person: 'Ines',
    line: '/note list',
  });
  for (const { step, status, seconds, err } of said) {
    if (status !== 0) throw new Error(`${step} ended with ${status}: ${err}`);
    row(`${step}.s`, seconds);
  }
} finally {
  machine.remove();
  rmSync(folder, { recursive: true });
}
