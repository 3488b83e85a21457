/** What an update does to a bot that runs: its files are replaced under it, and it goes on until it is stopped. */
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DateTime } from 'luxon';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { openSealedStore } from '../../src/store/sealed-store.ts';
import { finishJob } from '../clock/finished.ts';
import { titleOf, until } from '../discord/bot.ts';
import { served } from '../discord/served.ts';
import { says } from '../kills/programs.ts';
import { ownCopy } from './own-copy.ts';

const TIME = 600_000;
/** Ends what hangs. */
const WAIT = 60_000;
const DAY = 24 * 3600 * 1000;
let data = '';
beforeEach(() => {
  data = mkdtempSync(join(tmpdir(), 'thirdhand-update-'));
});
afterEach(() => rmSync(data, { recursive: true, force: true }));

/** A job that was restored in the week before, straight into the store of the running bot. */
function finishedLastWeek(): void {
  const { database } = openSealedStore({ data });
  const [collective] = database.collectives.list();
  if (!collective) throw new Error('no collective');
  const ago = (days: number) => new Date(Date.now() - days * DAY).toISOString();
  for (const days of [6, 7, 8]) finishJob(database.of(collective), { openedAt: ago(20), endedAt: ago(days) });
  database.close();
}

/** The ISO week of seven days ago, whatever day it is today. */
const weekBefore = (): string => DateTime.utc().minus({ days: 7 }).toFormat("kkkk-'W'WW");

it('a running bot draws, translates, reads and logs when all its files are gone, and ends in good order', {
  timeout: TIME,
}, async () => {
  const { folder, remove } = ownCopy();
  const on = await served(data, { installed: folder });
  try {
    const { ines, loopback, bot } = on;
    await ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
    finishedLastWeek();
    expect(await says(bot, 'Everything is loaded')).toBe(true);
    remove();
    expect(existsSync(folder)).toBe(false);

    const picture = await ines.use('week', 'preview', { week: weekBefore() });
    const pictures = () => picture.message?.attachments ?? [];
    await until(() => pictures().length > 0, 'the picture', WAIT);
    expect(pictures().map(({ bytes }) => bytes.subarray(1, 4).toString())).toEqual(['PNG']);
    const page = await ines.use('job', 'page', { job: '1' });
    const begins = () => page.message?.attachments.map(({ bytes }) => bytes.subarray(0, 5).toString());
    await until(() => begins()?.includes('%PDF-') ?? false, 'the page', WAIT);
    const csv = await ines.use('prices', 'export', {});
    expect(csv.message?.attachments[0]?.filename).toMatch(/\.csv$/);
    const rows = 'date,kind,model\n2026-02-11,phone,Orrin K3\n';
    await ines.use('prices', 'import', { file: { file: 'prices.csv', bytes: Buffer.from(rows) } });
    ines.locale = 'de';
    expect(titleOf((await ines.use('help', '', {})).message)).toBeTruthy();
    expect(titleOf((await ines.use('setup', '', {})).message)).toBeTruthy();
    // The connection is lost, and made again.
    const before = loopback.gateway.log.length;
    loopback.gateway.closeWith(4000);
    expect(titleOf((await ines.use('trace', 'list', {})).message)).toBeTruthy();
    expect(loopback.gateway.log.length).toBeGreaterThan(before);
    expect(bot.err()).toBe('');
    const log = readFileSync(join(data, 'thirdhand.log'), 'utf8').trim().split('\n');
    expect(log[0]).toContain('the connection is lost');
    expect(log.filter((line) => !line.startsWith('{"level":"info"'))).toEqual([]);
    expect(bot.alive()).toBe(true);
  } finally {
    remove();
  }
  expect(await on.close()).toBe(0);
});
