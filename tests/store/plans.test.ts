/** Every statement that the commands, the clock and the surfaces make finds its rows by an index, however long the history. Not one is timed. */
import Sqlite from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { z } from 'zod';
import { commands } from '../../commands/index.ts';
import { createClock } from '../../src/clock/scheduler.ts';
import { knowledge, testBot } from '../test-bot.ts';

const planRow = z.object({ detail: z.string() });

/** The tables that grow with what people do. A search by the collective alone reads all that it ever did. */
const growing =
  'jobs|job_entries|sightings|swaps|shelf|shelf_moves|traces|trace_steps|notes|choices|requests|people';
const reads = new RegExp(`^(SCAN (${growing})\\b|SEARCH (${growing}|t) .*\\(collective=\\?\\))`);

/** It ends after some rows, since they come in the order of the index; or it is about tables that stay small. */
const isShort = (text: string, plan: readonly { detail: string }[]): boolean =>
  (/ LIMIT /.test(text) && !plan.some(({ detail }) => detail.startsWith('USE TEMP B-TREE'))) ||
  // The people of a collective.
  /FROM people WHERE collective = \? ORDER BY seen/.test(text) ||
  // Once a day, and there are few notes.
  /^DELETE FROM notes WHERE collective = \? +AND EXISTS/.test(text) ||
  // A count by an index alone: some microseconds for a thousand rows.
  /^SELECT count\(\*\) AS n FROM sightings WHERE collective = \?$/.test(text) ||
  // Asked where a steward sets another currency, which is seldom.
  /^SELECT count\(\*\) AS n FROM sightings WHERE collective = \? AND currency <> \?$/.test(text) ||
  // Words that are removed are looked for in all that is kept of a collective, sealed as it is: seldom, and in its own time.
  /^SELECT (token, person, label, subject, invoke FROM choices|id, reply FROM requests) WHERE collective = \?$/.test(
    text,
  ) ||
  // Made once; what it says of other tables is for when one is removed, which never happens.
  /^INSERT INTO collectives/.test(text);

const texts = new Set<string>();
let at: ReturnType<typeof testBot>;
beforeAll(async () => {
  const { prepare } = Sqlite.prototype;
  const watch = vi.spyOn(Sqlite.prototype, 'prepare').mockImplementation(function watched(
    this: Sqlite.Database,
    text: string,
  ) {
    texts.add(text);
    return prepare.call(this, text);
  });
  at = testBot();
  // /mydata gathers what a collective holds of a person, and reads all of it for that: seldom, and in its own time.
  const lines = commands
    .filter(({ name }) => name !== 'mydata')
    .flatMap(({ actions }) => Object.values(actions).flatMap(({ examples }) => examples));
  const before = [
    '/family name model:"Orrin K3" as:glued-front-home-sensor launched:2017-09 new-price:649',
    '/job open "Orrin K3" symptoms:dead ownership:shown lock:free stolen:clear imei:490154203237518',
    '/trace dead model:"Orrin K3"',
  ];
  // Twice: some lines have something to find the second time only.
  for (const line of [...before, ...lines, ...lines])
    for (const direct of [false, true])
      at.say(line, { role: 'steward', direct, requestId: `${texts.size} ${line}` });
  const clock = createClock({
    database: at.database,
    knowledge: knowledge(),
    placesOf: () => [],
    log: () => undefined,
  });
  await clock.tick(at.now);
  at.database.channelBindings.seenIn('discord:1');
  at.database.channelBindings.homeOf('discord:1');
  at.database.channelBindings.weeklyBindings(1);
  at.database.channelBindings.list(1);
  watch.mockRestore();
}, 60_000);
afterAll(() => at.database.close());

describe('every statement', () => {
  it('finds its rows by an index', () => {
    const copy = new Sqlite(at.database.bytes());
    const scanning: string[] = [];
    for (const text of texts) {
      if (!/^\s*(SELECT|INSERT|UPDATE|DELETE|WITH)/i.test(text)) continue;
      const statement = copy.prepare(`EXPLAIN QUERY PLAN ${text}`);
      const values = Array.from({ length: (text.match(/\?/g) ?? []).length }, () => null);
      const plan = z.array(planRow).parse(statement.all(...values));
      for (const { detail } of plan)
        if (reads.test(detail) && !isShort(text, plan))
          scanning.push(`${detail}: ${text.replace(/\s+/g, ' ').slice(0, 300)}`);
    }
    copy.close();
    expect(texts.size).toBeGreaterThan(60);
    expect(scanning).toEqual([]);
  });
});
