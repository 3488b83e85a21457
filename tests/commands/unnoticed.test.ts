/** Breaks that were once made on purpose and went unnoticed: each is caught here. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { guardFormula } from '../../shared/csv/csv.ts';
import { cardOf, cautionsFor } from '../../shared/safety/cautions.ts';
import { codesOf } from '../../shared/safety/region.ts';
import { freshOrSaid } from '../../shared/safety/repetition.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { lossChance } from '../../shared/worth/net.ts';
import { busyBench } from '../language/every-reply.ts';
import { testSealer } from '../sealer.ts';
import { knowledge, refusalOf, testBot, wordsOf } from '../test-bot.ts';

const LOCAL_CODES = 'Local codes and licensed practice come first.';

describe('safety', () => {
  const swollen = () => {
    const bot = testBot();
    bot.say('/setup region:AU', { role: 'steward' });
    bot.say('/family name "Orrin K3" as:glued-front-home-sensor');
    return bot;
  };
  it('each danger card says whom to call', () => {
    const bot = swollen();
    const dangers = bot
      .say('/trace swollen model:"Orrin K3"')
      .cautions.filter(({ tone }) => tone === 'danger');
    expect(dangers.length).toBeGreaterThan(0);
    for (const { id, points } of dangers)
      expect(
        points.some((point) => /^Help: .{8,}/.test(point)),
        id,
      ).toBe(true);
  });
  it('local codes stand over the first card, and over each after it', () => {
    const bot = swollen();
    for (let time = 0; time < 2; time += 1)
      expect(bot.say('/trace swollen model:"Orrin K3"').before).toContain(LOCAL_CODES);
  });
  it('a danger card of a cell is whole, however often it is shown', () => {
    const bot = swollen();
    bot.say('/job open "Orrin K3" symptoms:swollen came:given');
    const card = () => bot.say('/job show job:1').cautions.find(({ tone }) => tone === 'danger');
    const first = card();
    for (let time = 0; time < 3; time += 1) {
      const again = card();
      expect(again?.points).toEqual(first?.points);
      expect(again?.points.length).toBeGreaterThan(2);
      expect(again?.brief ?? false).toBe(false);
    }
  });
  it('no line stands for the card of a suspect cell or of liquid, though it was said a moment ago', () => {
    const now = new Date('2026-03-02T09:00:00Z');
    for (const hazard of ['unsafe-cell', 'wet'] as const) {
      // Also where somebody writes a line for it into the pack.
      const cautions = cautionsFor(knowledge(), [hazard])
        .filter(({ neverShort }) => neverShort)
        .map((one) => ({ ...one, short: 'In a line.' }));
      expect(cautions.length, hazard).toBeGreaterThan(0);
      const shown = new Map(cautions.map(({ id }) => [id, now]));
      expect(freshOrSaid(cautions, shown, now)).toEqual({ fresh: cautions, said: [] });
      for (const caution of cautions) expect(cardOf(knowledge(), caution, 'AU').line).toBeUndefined();
    }
  });
  it('the rules of a state come before those of its country', () => {
    expect(codesOf({ eu: ['DE'] }, 'US-OR')).toEqual(['US-OR', 'US']);
    expect(codesOf({ eu: ['DE'] }, 'DE-BY')).toEqual(['DE-BY', 'DE', 'EU']);
  });
});

describe('a customer’s phone', () => {
  it('is not closed as restored before its data is cleared, or its owner keeps it', () => {
    const finish = (data: string) => {
      const bot = busyBench('en');
      const opened = bot.say(
        `/job open "Orrin K3" symptoms:cracked-glass came:customer ownership:shown lock:free stolen:clear data:${data}`,
      );
      const job = /"job":(\d+)/.exec(JSON.stringify(opened.data))?.[1];
      bot.say(
        `/job test job:${job} pass:"start, display, touch, charge, battery, front-camera, rear-camera, microphones, speaker, earpiece, headset, sensors, radios, sim, buttons, vibration, fingerprint, position"`,
      );
      return bot.say(`/job finish restored page:seen job:${job} sold:120`);
    };
    const refused = finish('consent');
    expect(refusalOf(refused)).toMatchObject({ code: 'wrong-state' });
    expect(wordsOf(refused)).toContain('is not erased');
    expect(finish('clear').outcome).toBe('answered');
    expect(finish('owner-keeps').outcome).toBe('answered');
  });
});

describe('numbers', () => {
  it('a long number that was refused keeps its last four digits and no more', () => {
    const refused = JSON.stringify(testBot().say('/job open imei:490154203237519'));
    expect(refused).toContain('•7519');
    expect(refused).not.toMatch(/\d7519/);
  });
  it('what costs and does not sell is a loss, also where nothing was paid for the phone', () => {
    const terms = { endings: [{ chance: 1, cost: 10, sale: null }], fee: 0, taxFraction: 0, cap: 1000 };
    expect(lossChance(terms, 0)).toBe(1);
    expect(lossChance({ ...terms, endings: [{ chance: 1, cost: 0, sale: null }] }, 0)).toBe(0);
  });
  it('the checks at a seller’s table take a minute', () => {
    const bot = busyBench('en');
    const { table } = z
      .object({ table: z.array(z.object({ check: z.string() })) })
      .parse(bot.say('/worth "Orrin K3" price:20 symptoms:"dead, no charge"').data);
    expect(table.length).toBeGreaterThan(0);
    for (const { check } of table)
      expect(knowledge().checks.get(check)?.minutes, check).toBeLessThanOrEqual(1);
  });
  it.each(['\t=1', '\r1', '=1', '+1', '-1', '@x'])(
    'a cell of CSV that begins with %j is no formula',
    (cell) => {
      expect(guardFormula(cell)).toBe(`'${cell}`);
    },
  );
});

describe('what belongs to whom', () => {
  it('no name and no key is left after an erasure, wherever the person had a hand in', () => {
    const bot = busyBench('en');
    bot.say('/job log "port cleaned" as:words job:6');
    bot.say('/job wipe 5 job:6');
    bot.say('/job strike 1 why:x job:6');
    bot.say('/trace answer nothing');
    expect(JSON.stringify(bot.dump().trace_steps)).toContain('terminal:Ines');
    bot.say('/note add "ask Moss"', { direct: true });
    expect(JSON.stringify(bot.dump())).toContain('terminal:Ines');
    bot.say('/mydata erase sure:yes', { direct: true });
    const left = Object.entries(bot.dump()).filter(([, rows]) =>
      /"Ines"|Ines\b.*terminal|terminal:Ines/.test(JSON.stringify(rows)),
    );
    expect(left.map(([table]) => table)).toEqual([]);
  });

  let folder = '';
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'thirdhand-bound-'));
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));
  const now = new Date('2026-03-02T09:00:00Z');
  const opened = () => {
    const path = join(folder, 'store.sqlite');
    const database = openDatabase(path, testSealer);
    const raw = new Sqlite(path);
    const shed = database.of(database.collectives.create('Tin Shed'));
    const loft = database.of(database.collectives.create('Loft'));
    return { database, raw, shed, loft };
  };
  it('a note that is moved to another person does not open', () => {
    const { database, raw, shed } = opened();
    shed.notes.add('a:ines', { text: 'hers alone', job: null }, now);
    shed.notes.add('a:wren', { text: 'his', job: null }, now);
    raw
      .prepare(
        "UPDATE notes SET sealed = (SELECT sealed FROM notes WHERE person = 'a:ines') WHERE person = 'a:wren'",
      )
      .run();
    expect(shed.notes.list('a:wren').map(({ text }) => text)).toEqual([null]);
    expect(shed.notes.list('a:ines').map(({ text }) => text)).toEqual(['hers alone']);
    raw.close();
    database.close();
  });
  it('a choice that is moved to another token is none', () => {
    const { database, raw, shed } = opened();
    const choice = (token: string, action: string) => ({
      token,
      person: null,
      label: 'Do it',
      invoke: { command: 'job', action, options: {} },
      subject: null,
      revision: null,
    });
    shed.choices.save([choice('one', 'show'), choice('two', 'list')], now);
    raw
      .prepare(
        "UPDATE choices SET invoke = (SELECT invoke FROM choices WHERE token = 'one') WHERE token = 'two'",
      )
      .run();
    expect(shed.choices.take('two', now)).toBeNull();
    expect(shed.choices.take('one', now)?.invoke.action).toBe('show');
    raw.close();
    database.close();
  });
  it('a kept reply is of its collective alone', () => {
    const { database, raw, shed, loft } = opened();
    shed.requests.save('r-1', { title: 'of the shed' }, now);
    expect(loft.requests.answered('r-1')).toBeUndefined();
    loft.requests.save('r-1', { title: 'of the loft' }, now);
    expect(shed.requests.answered('r-1')).toEqual({ title: 'of the shed' });
    expect(loft.requests.answered('r-1')).toEqual({ title: 'of the loft' });
    raw.close();
    database.close();
  });
});
