import Papa from 'papaparse';
import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { mydataEraseData } from '../../commands/mydata/erase.ts';
import { mydataExportData, mydataFile } from '../../commands/mydata/export.ts';
import { ERASED_NAME } from '../../shared/store/index.ts';
import { actor } from '../actors.ts';
import { closeJob, openJob } from '../some-job.ts';
import { type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';

let tin: TestBot;
const direct = { direct: true } as const;
const say = (line: string, how: Saying = {}): Reply => tin.say(line, { ...direct, ...how });
const INES = { name: 'Ines', key: 'terminal:Ines' };
const WREN = { name: 'Wren', key: 'terminal:Wren' };
const IMEI = '490154203237518';

/** Ines and Wren both leave something of every kind. */
beforeEach(() => {
  tin = testBot();
  const { store, now } = tin;
  for (const who of [INES, WREN]) {
    const as = { as: who.name };
    const hand = { by: { key: who.key, name: who.name }, at: now };
    tin.say(`/family name "Orrin of ${who.name}" as:glued-front-home-sensor`, as);
    tin.say(`/prices add "Orrin of ${who.name}" price:180 note:"=1+1 from the fair"`, as);
    const choice = tin.say(`/trace fussy-charging model:"Orrin of ${who.name}"`, as).choices[0]?.token ?? '';
    tin.say({ token: choice }, as);
    say('/mydata erase', as);
    const job = openJob(store, who, now, IMEI);
    store.jobs.add(
      job,
      [
        { kind: 'said', text: `@said by ${who.name === 'Ines' ? 'the first' : 'the second'}` },
        {
          kind: 'money',
          way: 'out',
          amount: { minor: 1250, currency: 'AUD' },
          purpose: 'part',
          component: null,
          grade: null,
        },
      ],
      hand,
    );
    store.jobs.strike(job, 1, hand, 'wrong phone');
    store.swaps.add({
      family: 'glued-front-home-sensor',
      model: null,
      component: 'battery',
      grade: 'copy',
      board: 'same',
      effect: 'notice',
      saw: 'a notice',
      mended: '',
      job,
      by: { key: who.key, name: who.name },
      at: now,
    });
    say(`/note add "Quincewort of ${who.name}" job:${job}`, as);
    store.links.give(who.key, now);
    tin.database.channelBindings.setHome(who.key, tin.collective.id);
  }
  // One job of Ines was handed to Wren, and Ines closed one of Wren's.
  store.jobs.add(1, [{ kind: 'handed', from: actor('Ines'), to: actor('Wren') }], {
    by: actor('Ines', INES.key),
    at: now,
  });
  store.jobs.hand(1, { name: 'Wren', key: WREN.key });
  closeJob(store, 2, now);
  // What a weekly post said of each.
  for (const [week, { name }] of [['2026-W08', INES] as const, ['2026-W07', WREN] as const]) {
    store.weeks.sending(week, 'workshop', JSON.stringify({ text: `closed by ${name}` }), now);
    store.weeks.sent(week, 'workshop', `message-${week}`, now);
  }
});

const exported = (as = 'Ines') => {
  const reply = say('/mydata export', { as });
  const file = (name: string) =>
    reply.files.find((one) => one.name === `mydata-2026-03-02${name}`)?.text ?? '';
  return { reply, file, json: mydataFile.parse(JSON.parse(file('.json'))) };
};
/** Every row of every table that has the text in it, as "table: row". */
const rowsWith = (text: string) =>
  Object.entries(tin.dump()).flatMap(([table, rows]) =>
    rows.map((row) => JSON.stringify(row)).flatMap((row) => (row.includes(text) ? [`${table}: ${row}`] : [])),
  );

describe('/mydata export', () => {
  it('gives all that is held about the asker, and nothing of anybody else', () => {
    const { json, reply } = exported();
    expect(reply.audience).toBe('asker');
    expect(json.held.person).toEqual([{ key: INES.key, name: 'Ines', seen: tin.now.toISOString(), home: 1 }]);
    expect(json.held.notes).toMatchObject([{ number: 1, job: 1, text: 'Quincewort of Ines' }]);
    expect(json.held.jobs).toMatchObject([
      { number: 1, opened_by_you: 1, held_by_you: 0, imei_last: '7518', symptoms: ['dead'] },
    ]);
    expect(json.held['job-entries']).toMatchObject([
      { job: 1, seq: 1, entry: { kind: 'said', text: '@said by the first' }, struck_why: 'wrong phone' },
      { job: 1, seq: 2, entry: { kind: 'money', amount: { amount: '12.50', currency: 'AUD' } } },
      { job: 1, seq: 3, entry: { kind: 'handed' } },
    ]);
    expect(json.held.prices).toMatchObject([{ model: 'Orrin of Ines', price: '180.00', currency: 'AUD' }]);
    expect(json.held['swap-reports']).toMatchObject([{ number: 1, saw: 'a notice' }]);
    expect(json.held.choices.length).toBeGreaterThan(0);
    expect(json.held.choices[0]).toMatchObject({ invoke: { command: 'mydata', options: { sure: 'yes' } } });
    expect(json.held['link-words']).toHaveLength(1);
    expect(json.held.traces).toMatchObject([{ number: 1, started_by: 'Ines' }]);
    expect(json.held['trace-steps']).toMatchObject([{ trace: 1, by: 'Ines' }]);
    expect(json.held.named.map(({ what, record }) => `${what} ${record}`).sort()).toEqual([
      'closed job 2',
      'entry struck out job 1',
      'handed over job 1',
      'model named Orrin of Ines',
    ]);
    expect(JSON.stringify(json)).not.toContain('of Wren');
    expect(JSON.stringify(json)).not.toContain(IMEI);
    // What names somebody else names them, and does not give their key.
    expect(JSON.stringify(json.held['job-entries'])).toContain('Wren');
    expect(JSON.stringify(reply.files)).not.toContain(WREN.key);
    const { held } = mydataExportData.parse(reply.data);
    for (const [kind, rows] of Object.entries(json.held))
      expect(held[mydataKind(kind)], kind).toBe(rows.length);
  });

  it('has every table of the store that knows a person in it', () => {
    // Whatever names Ines anywhere in the store must be in the export, or be of these few.
    const { json } = exported();
    const inExport: Record<string, string> = {
      people: 'person',
      homes: 'person',
      notes: 'notes',
      choices: 'choices',
      link_words: 'link-words',
      jobs: 'jobs',
      job_entries: 'job-entries',
      phone_events: 'phone-events',
      cautions_shown: 'cautions-shown',
      sightings: 'prices',
      swaps: 'swap-reports',
      shelf: 'shelf-parts',
      shelf_moves: 'shelf-moves',
      traces: 'traces',
      trace_steps: 'trace-steps',
      models: 'named',
      // Made from the jobs.
      week_posts: 'jobs',
      // The number of the next note.
      counters: 'notes',
    };
    for (const row of rowsWith('Ines')) {
      const kind = inExport[row.split(':')[0] ?? ''];
      expect(kind, row).toBeDefined();
      expect(json.held[mydataKind(kind ?? '')].length).toBeGreaterThan(0);
    }
  });

  it('writes one CSV a kind, in which no cell is a formula', () => {
    const { file, reply } = exported();
    expect(reply.files.length).toBeLessThanOrEqual(10);
    const csvs = reply.files.filter(({ mime }) => mime === 'text/csv');
    expect(csvs.map(({ name }) => name.replace('mydata-2026-03-02-', ''))).toEqual([
      'notes.csv',
      'choices.csv',
      'jobs.csv',
      'job-entries.csv',
      'prices.csv',
      'swap-reports.csv',
      'traces.csv',
      'trace-steps.csv',
      'named.csv',
    ]);
    for (const { text } of csvs) {
      // papaparse is what wrote it, but not what guards the cells.
      const { data, errors } = Papa.parse<string[]>(text ?? '', { skipEmptyLines: true });
      expect(errors).toEqual([]);
      expect(data.length).toBeGreaterThan(1);
      for (const row of data) {
        expect(row).toHaveLength(data[0]?.length ?? 0);
        for (const cell of row) expect(cell).not.toMatch(/^[=+\-@\t\r]/);
      }
    }
    expect(file('-prices.csv')).toContain("'=1+1 from the fair");
  });

  it('says that a note cannot be opened, rather than fail', () => {
    const notes = tin.store.personData.read(INES.key, 'Ines').rows.notes;
    expect(notes).toMatchObject([{ text: 'Quincewort of Ines' }]);
    expect(exported('Bram').json.held.notes).toEqual([]);
    expect(exported('Bram').reply.outcome).toBe('answered');
  });

  it('works in a direct message only, for anybody', () => {
    expect(tin.say('/mydata export').outcome).toBe('refused');
    expect(say('/mydata export', { role: 'visitor' }).outcome).toBe('answered');
    expect(say('/mydata', { role: 'visitor' }).files.length).toBeGreaterThan(0);
  });
});

describe('/mydata erase', () => {
  it('only says what goes and what stays, until it is sure', () => {
    say('/mydata erase');
    const before = tin.dump();
    const { choices: _, ...asked } = say('/mydata erase');
    expect(mydataEraseData.parse(asked.data)).toMatchObject({ erased: false, held: { notes: 1, prices: 1 } });
    const words = wordsOf({ ...asked, choices: [] });
    for (const said of ['Private notes: 1', 'Prices seen: 1', 'accounts, prices and fault odds', ERASED_NAME])
      expect(words).toContain(said);
    expect({ ...tin.dump(), choices: [] }).toEqual({ ...before, choices: [] });
    expect(tin.say('/mydata erase sure:yes').outcome).toBe('refused');
    expect({ ...tin.dump(), choices: [] }).toEqual({ ...before, choices: [] });
  });

  it('names the open jobs that the asker still holds', () => {
    expect(wordsOf(say('/mydata erase', { as: 'Wren' }))).toContain('You still hold job #1');
    expect(wordsOf(say('/mydata erase'))).not.toContain('You still hold');
  });

  it('leaves no trace of name or key, and what the collective rests on', () => {
    const rows = () => Object.entries(tin.dump()).map(([table, all]) => [table, all.length]);
    const before = rows();
    const sum = () => tin.dump().sightings?.map((row) => ({ ...Object(row), by: '', by_key: '' }));
    const prices = sum();
    const token = say('/mydata erase').choices[0]?.token ?? '';
    expect(tin.say({ token }, direct).title).toBe('What was held about you is erased');
    // The name of the model is what Ines called it; the model stays.
    expect(
      rowsWith('Ines').filter((row) => !row.includes('Orrin of Ines') || row.includes('"by":"Ines"')),
    ).toEqual([]);
    expect(rowsWith('terminal:Ines')).toEqual([]);
    expect(rowsWith('Wren').length).toBeGreaterThan(8);
    expect(sum()).toEqual(prices);
    // Only what was the asker's alone is gone.
    const gone = before.filter(([table, count]) => {
      const now = rows().find(([name]) => name === table)?.[1];
      return now !== count;
    });
    expect(gone.map(([table]) => table)).toEqual([
      'cautions_shown',
      'choices',
      'counters',
      'homes',
      'link_words',
      'notes',
      'people',
    ]);
    expect(tin.store.jobs.get(1)).toMatchObject({
      openedBy: { name: ERASED_NAME },
      holder: { key: WREN.key, name: 'Wren' },
    });
    expect(tin.store.jobs.get(1)?.entries.map(({ by, struck }) => [by.name, struck?.by.name])).toEqual([
      [ERASED_NAME, ERASED_NAME],
      [ERASED_NAME, undefined],
      [ERASED_NAME, undefined],
    ]);
    expect(tin.store.jobs.get(1)?.entries[2]?.entry).toMatchObject({
      kind: 'handed',
      from: { name: ERASED_NAME },
      to: { key: WREN.key, name: 'Wren' },
    });
    expect(tin.store.jobs.get(2)?.ended?.ending.by.name).toBe(ERASED_NAME);
    expect(tin.store.jobs.imeiOf(1)).toBe(IMEI);
    expect(tin.store.traces.get(1)).toMatchObject({
      startedBy: { name: ERASED_NAME },
      steps: [{ by: { name: ERASED_NAME } }],
    });
    expect(tin.store.weeks.get('2026-W08', 'workshop')).toMatchObject({
      said: '',
      message: 'message-2026-W08',
    });
    expect(tin.store.weeks.get('2026-W07', 'workshop')?.said).toContain('Wren');
    expect(tin.database.check()).toEqual([]);
  });

  it('gives each record a random key of its own, so that they cannot be put together again', () => {
    say('/mydata erase sure:yes');
    const job = tin.store.jobs.get(1);
    const keys = (job?.entries ?? []).flatMap(({ by, struck }) => [
      by.key,
      ...(struck ? [struck.by.key] : []),
    ]);
    for (const key of keys) expect(key).toMatch(/^left:[0-9a-f]{24}$/);
    expect(new Set([...keys, job?.openedBy.key]).size).toBe(5);
  });

  it('makes the asker new: no row of theirs, and notes that count from 1', () => {
    say('/mydata erase sure:yes', { requestId: 'm-1' });
    expect(tin.store.people.get(INES.key)).toBeNull();
    expect(mydataEraseData.parse(say('/mydata erase').data).held).toMatchObject({
      notes: 0,
      prices: 0,
      traces: 0,
    });
    expect(say('/note add "new here"').title).toBe('Note 1 is kept');
  });

  it('goes by the key: somebody else of the same name keeps all of theirs', () => {
    const asOther = (line: string) =>
      tin.dispatcher.handle({
        collective: tin.collective.id,
        person: { key: 'discord:41', name: 'Ines', role: 'member' },
        direct: true,
        now: tin.now,
        say: { line },
      });
    asOther('/note add "of another Ines"');
    const begun = asOther('/trace dead model:"Orrin of Wren"');
    asOther('/trace cannot');
    asOther('/family name "Orrin of another" as:glued-front-home-sensor');
    expect(begun.outcome).toBe('answered');
    expect(mydataEraseData.parse(say('/mydata erase sure:yes').data).left).toBe(0);
    expect(tin.store.traces.get(1)?.startedBy.name).toBe(ERASED_NAME);
    const other = { key: 'discord:41', name: 'Ines' };
    expect(tin.store.traces.get(3)).toMatchObject({ startedBy: other, steps: [{ by: other }] });
    expect(tin.store.models.findByName('Orrin of another')?.by).toEqual(other);
    expect(wordsOf(asOther('/note list'))).toContain('of another Ines');
  });

  it('finds what was done under an earlier name', () => {
    const renamed = (name: string, line: string) =>
      tin.dispatcher.handle({
        collective: tin.collective.id,
        person: { key: 'discord:7', name, role: 'member' },
        direct: true,
        now: tin.now,
        say: { line },
      });
    renamed('Moss', '/prices add "Orrin of Wren" price:90');
    renamed('Moss', '/trace dead model:"Orrin of Wren"');
    renamed('Mossy', '/mydata erase sure:yes');
    expect(rowsWith('Moss')).toEqual([]);
  });

  it('is of this collective alone', () => {
    const loft = tin.database.of(tin.database.collectives.create('Loft'));
    loft.notes.add(INES.key, { text: 'in the loft', job: null }, tin.now);
    say('/mydata erase sure:yes');
    expect(loft.notes.list(INES.key)).toHaveLength(1);
  });
});

function mydataKind(name: string) {
  const kind = mydataFile.shape.held.keyType.options.find((one) => one === name);
  if (!kind) throw new Error(`${name} is no kind of data`);
  return kind;
}
