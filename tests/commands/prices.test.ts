import { beforeEach, describe, expect, it } from 'vitest';
import { family } from '../../commands/family/index.ts';
import { pricesAddData } from '../../commands/prices/add.ts';
import { pricesExportData } from '../../commands/prices/export.ts';
import { pricesImportData } from '../../commands/prices/import.ts';
import { prices } from '../../commands/prices/index.ts';
import { pricesListData } from '../../commands/prices/list.ts';
import { pricesRemoveData } from '../../commands/prices/remove.ts';
import { setup } from '../../commands/setup/index.ts';
import { refusalOf, type TestBot, testBot } from '../test-bot.ts';

const HEADER = 'date,kind,what,component,grade,storage,price,currency,how,note';
let tin: TestBot;
beforeEach(() => {
  tin = testBot({ commands: [prices, family, setup] });
  tin.say('/family name "Orrin K3" as:glued-front-home-sensor launched:2017-09');
});
const load = (file: string, how = {}) =>
  tin.say({ invoke: { command: 'prices', action: 'import', options: { file } } }, how);

describe('/prices add', () => {
  it('records a phone, sold today in fair condition unless said otherwise', () => {
    const added = tin.say('/prices add "Orrin K3" price:180');
    expect(added.title).toBe('#1: Orrin K3, fair, AUD 180.00 sold');
    expect(pricesAddData.parse(added.data).added).toMatchObject({
      kind: 'phone',
      condition: 0,
      storage: null,
      how: 'sold',
      price: { amount: '180.00', currency: 'AUD' },
      by: 'Ines',
    });
  });

  it('counts days in the zone of the collective', () => {
    // 13:30 UTC is half past midnight of the next day in Sydney, which is at UTC+11 in March (IANA tz database, summer time).
    const added = tin.say('/prices add "Orrin K3" price:180', { now: new Date('2026-03-02T13:30:00Z') });
    expect(pricesAddData.parse(added.data).added?.seen).toBe('2026-03-03');
  });

  it('records a part by its grade', () => {
    const added = tin.say(
      '/prices add "Orrin K3" price:24.50 component:battery grade:copy how:asked note:"boxed"',
    );
    expect(pricesAddData.parse(added.data).added).toMatchObject({
      kind: 'part',
      component: 'battery',
      partGrade: 'copy',
      condition: null,
      how: 'asked',
      note: 'boxed',
      price: { amount: '24.50', currency: 'AUD' },
    });
  });

  it.each([
    ['/prices add "Orrin K4" price:180', 'no model is called "Orrin K4"'],
    ['/prices add "Orrin K3"', 'price is missing'],
    ['/prices add "Orrin K3" price:-5', 'price: the amount is negative.'],
    ['/prices add "Orrin K3" price:0', 'A price of nothing'],
    ['/prices add "Orrin K3" price:"USD 50"', 'in USD, not in AUD'],
    ['/prices add "Orrin K3" price:1.234', 'only 2 decimals'],
    ['/prices add "Orrin K3" price:50 how:given', '"given" is not one of the choices'],
    ['/prices add "Orrin K3" price:50 condition:superb', '"superb" is not one of the choices'],
    ['/prices add "Orrin K3" price:50 storage:1.5', 'not a whole number from 1 to 8192'],
    ['/prices add "Orrin K3" price:50 component:battery', 'A part needs its grade'],
    ['/prices add "Orrin K3" price:50 grade:copy', 'Only a part has a grade'],
    [
      '/prices add "Orrin K3" price:50 component:battery grade:copy condition:good',
      'A part has no condition',
    ],
    ['/prices add "Orrin K3" price:50 component:battery grade:copy storage:64', 'A part has no storage'],
    ['/prices add "Orrin K3" price:50 seen:2026-03-03', 'is in the future'],
    ['/prices add "Orrin K3" price:50 seen:2026-02-30', 'is not a date'],
    ['/prices add "Orrin K3" price:50 seen:2017-08-31', 'before any was sold'],
    ['/prices add "Orrin K3" price:70000', 'No phone costs AUD 70,000.00'],
    [`/prices add "Orrin K3" price:50 note:${'x'.repeat(201)}`, '201 characters are too many'],
    ['/prices add "Orrin K3" price:50 note:a\u202eb', 'control character'],
  ])('refuses %s', (line, says) => {
    const before = tin.dump();
    const refused = tin.say(line);
    expect(refused.outcome).toBe('refused');
    expect(refused.title).toContain(says);
    expect(tin.dump()).toEqual(before);
  });

  it('a price out of line is asked about, and kept only on a yes', () => {
    for (const [i, price] of [180, 190, 175, 185].entries())
      tin.say(`/prices add "Orrin K3" price:${price}`, { as: `p${i}` });
    const before = tin.dump();
    const asked = tin.say('/prices add "Orrin K3" price:1800 condition:fair note:"no box"', { as: 'Bram' });
    expect(asked).toMatchObject({ outcome: 'answered', audience: 'asker' });
    expect(asked.title).toMatch(/^AUD 1,?800.00 is 10 times what others paid: keep it\?$/);
    expect(pricesAddData.parse(asked.data)).toMatchObject({
      added: null,
      doubt: { why: 'far-above', others: 4 },
    });
    expect(Object.keys(tin.dump()).filter((t) => t !== 'choices' && t !== 'people')).toEqual(
      Object.keys(before).filter((t) => t !== 'choices' && t !== 'people'),
    );
    expect(tin.store.sightings.count()).toBe(4);
    expect(asked.choices.map(({ label }) => label)).toEqual([
      'It is AUD 180.00',
      'Yes, keep AUD 1,800.00',
      'Correct it',
    ]);
    const [slip, yes, correct] = asked.choices.map(({ token = '' }) => token);
    expect(tin.say({ token: correct ?? '' }, { as: 'Bram' }).title).toBe('price is missing.');
    const meant = pricesAddData.parse(tin.say({ token: slip ?? '' }, { as: 'Bram' }).data);
    expect(meant.added).toMatchObject({ price: { amount: '180.00' }, note: 'no box', by: 'Bram' });
    const kept = pricesAddData.parse(tin.say({ token: yes ?? '' }, { as: 'Bram' }).data);
    expect(kept.added).toMatchObject({ price: { amount: '1800.00' }, by: 'Bram' });
    // What he told before does not vouch for what he tells now.
    for (let i = 0; i < 3; i += 1) tin.say('/prices add "Orrin K3" price:1800 sure:yes', { as: 'Bram' });
    expect(tin.say('/prices add "Orrin K3" price:1800', { as: 'Bram' }).title).toMatch(/keep it\?$/);
  });

  it('so is one far too low, one of a part, and one of a model nobody knows a price of', () => {
    for (const [i, price] of [180, 190, 175, 185].entries())
      tin.say(`/prices add "Orrin K3" price:${price}`, { as: `p${i}` });
    const why = (line: string) => pricesAddData.parse(tin.say(line).data).doubt?.why ?? null;
    expect(why('/prices add "Orrin K3" price:18')).toBe('far-below');
    expect(why('/prices add "Orrin K3" price:95 condition:poor')).toBeNull();
    expect(why('/prices add "Orrin K3" component:battery grade:copy price:900')).toBe('far-above');
    expect(why('/prices add "Orrin K3" component:battery grade:copy price:12')).toBeNull();
    tin.say('/family name "Orrin K9" as:glued-front-home-sensor');
    expect(why('/prices add "Orrin K9" price:0.50')).toBe('no-phone-so-cheap');
    expect(why('/prices add "Orrin K9" price:9000')).toBe('no-phone-so-dear');
    expect(why('/prices add "Orrin K9" price:300')).toBeNull();
  });

  it('is for members; a visitor may look', () => {
    expect(tin.say('/prices add "Orrin K3" price:50', { role: 'visitor' }).outcome).toBe('refused');
    expect(load(HEADER, { role: 'visitor' }).outcome).toBe('refused');
    expect(tin.say('/prices', { role: 'visitor' }).outcome).toBe('answered');
  });
});

describe('/prices', () => {
  it('lists newest first, with what they add up to', () => {
    for (const [price, seen] of [
      [200, '2026-01-10'],
      [190, '2026-02-10'],
      [210, '2025-12-10'],
      [195, '2026-02-20'],
    ])
      tin.say(`/prices add "Orrin K3" price:${price} seen:${seen}`);
    tin.say('/prices add "Orrin K3" price:30 component:battery grade:used');
    const listed = pricesListData.parse(tin.say('/prices Orrin K3').data);
    expect(listed.total).toBe(5);
    expect(listed.prices.map(({ number }) => number)).toEqual([5, 4, 2, 1, 3]);
    expect(listed.market?.sightings).toBe(4);
    // All four are fair, sold and lately seen: today's value lies among them, less up to three months of age.
    expect(Number(listed.market?.median.amount)).toBeGreaterThan(175);
    expect(Number(listed.market?.median.amount)).toBeLessThan(210);
    expect(listed.market?.inputs.some(({ ground }) => ground === 'published')).toBe(true);
    expect(pricesListData.parse(tin.say('/prices').data).market).toBeNull();
  });

  it('says when there is none', () => {
    const none = tin.say('/prices "Orrin K3"');
    expect(none.title).toBe('No price of Orrin K3 yet');
    expect(pricesListData.parse(none.data).market).toBeNull();
  });
});

describe('/prices remove', () => {
  it('takes away what is your own; a steward takes away any', () => {
    for (const price of [10, 20, 30]) tin.say(`/prices add "Orrin K3" price:${price}`);
    const before = tin.dump();
    const refused = tin.say('/prices remove 1', { as: 'Sol' });
    expect(refused.title).toBe('Price #1 was added by Ines.');
    expect(refusalOf(refused)?.code).toBe('not-allowed');
    expect(refusalOf(tin.say('/prices remove 9'))?.code).toBe('not-found');
    expect(tin.dump()).toEqual(before);
    expect(pricesRemoveData.parse(tin.say('/prices remove 1').data).removed.number).toBe(1);
    expect(tin.say('/prices remove 2', { as: 'Sol', role: 'steward' }).outcome).toBe('answered');
    expect(tin.store.sightings.list().map(({ number }) => number)).toEqual([3]);
  });
});

describe('/prices export and import', () => {
  const fill = () => {
    tin.say(
      '/prices add "Orrin K3" price:180 condition:good storage:64 seen:2026-02-20 note:"with box, no cable"',
    );
    tin.say('/prices add "Orrin K3" price:24 component:battery grade:copy how:asked seen:2026-02-21');
  };

  it('writes RFC 4180: a header, CRLF, quotes where a cell holds a comma', () => {
    fill();
    const exported = tin.say('/prices export');
    expect(pricesExportData.parse(exported.data).rows).toBe(2);
    expect(exported.files).toMatchObject([{ name: 'prices-2026-03-02.csv', mime: 'text/csv' }]);
    expect(exported.files[0]?.text).toBe(
      [
        HEADER,
        '2026-02-20,phone,Orrin K3,,1,64,180.00,AUD,sold,"with box, no cable"',
        '2026-02-21,part,Orrin K3,battery (copy),,,24.00,AUD,asked,',
        '',
      ].join('\r\n'),
    );
  });

  it('reads back what it wrote, elsewhere whole and here not twice', () => {
    fill();
    const file = tin.say('/prices export').files[0]?.text ?? '';
    const here = tin.dump().sightings;
    expect(pricesImportData.parse(load(file).data)).toEqual({ imported: 0, known: 2, odd: [] });
    expect(tin.dump().sightings).toEqual(here);

    const other = testBot({ commands: [prices, family] });
    other.say('/family name "Orrin K3" as:glued-front-home-sensor');
    other.say({ invoke: { command: 'prices', action: 'import', options: { file } } });
    expect(other.say('/prices export').files[0]?.text).toBe(file);
    expect(other.store.sightings.list({ kind: 'part' })).toMatchObject([
      { component: 'battery', partGrade: 'copy' },
    ]);
  });

  it('asks about the lines that are out of line; the rest of the file is not lost', () => {
    const line = (price: number, day: number) => `2026-02-${10 + day},phone,Orrin K3,,0,,${price},AUD,sold,`;
    const file = [HEADER, ...[180, 190, 1750, 185, 178, 19, 182].map(line)].join('\n');
    const asked = load(file);
    expect(asked).toMatchObject({ outcome: 'answered', audience: 'asker' });
    expect(asked.title).toBe('2 of 7 prices are out of line: keep them?');
    const { imported, odd } = pricesImportData.parse(asked.data);
    expect([imported, odd.map((one) => [one.line, one.doubt.why])]).toEqual([
      0,
      [
        [4, 'far-above'],
        [7, 'far-below'],
      ],
    ]);
    expect(tin.store.sightings.count()).toBe(0);
    const [without] = asked.choices;
    const kept = tin.say({ token: without?.token ?? '' });
    expect(kept.title).toBe('Imported 5 prices');
    expect(JSON.stringify(kept.blocks)).toContain('2 out of line were left out.');
    // What is here already is not asked about again.
    expect(
      pricesImportData.parse(tin.say('/prices remove 1').data ? load(file).data : null).odd,
    ).toHaveLength(2);
    const all = tin.say({ invoke: { command: 'prices', action: 'import', options: { file, sure: 'yes' } } });
    expect(pricesImportData.parse(all.data)).toMatchObject({ imported: 3, known: 4 });
  });

  it('counts like sales one by one: two in the file and one here make one more', () => {
    const row = '2026-02-20,phone,Orrin K3,,1,64,180.00,AUD,sold,';
    expect(pricesImportData.parse(load([HEADER, row].join('\n')).data).imported).toBe(1);
    expect(pricesImportData.parse(load([HEADER, row, row].join('\n')).data)).toMatchObject({
      imported: 1,
      known: 1,
    });
    expect(tin.store.sightings.count()).toBe(2);
  });

  it('imports nothing when a line is not right, and says of each what was expected', () => {
    const file = [
      HEADER,
      '2026-02-20,phone,Orrin K3,,1,64,180.00,AUD,sold,fine',
      '2026-02-20,phone,Orrin K9,,1,64,180.00,AUD,sold,',
      '2026-02-20,phone,Orrin K3,,7,64,180.00,AUD,sold,',
      '2026-02-20,part,Orrin K3,battery,,,24.00,AUD,sold,no grade',
      '2026-02-20,phone,Orrin K3,,1,64,-1,USD,sold,',
    ].join('\n');
    const before = tin.dump();
    const refused = load(file);
    expect(refused).toMatchObject({ outcome: 'refused', audience: 'asker' });
    expect(refused.title).toBe('Nothing was imported: 4 lines are not right');
    const refusal = refusalOf(refused);
    expect(refusal).toMatchObject({ code: 'bad-option', option: 'file' });
    expect(refusal?.lines?.map(({ line, column }) => [line, column])).toEqual([
      [3, 'what'],
      [4, 'grade'],
      [5, 'component'],
      [6, 'currency'],
      [6, 'price'],
    ]);
    const rows = refused.blocks.flatMap((block) => (block.kind === 'table' ? block.rows : []));
    expect(rows[0]).toContain('a model named with /family name');
    expect(rows[2]).toContain('a component with its grade, such as Battery (copy)');
    expect(tin.dump()).toEqual(before);
  });

  it.each([
    ['not a table at all', 'the header'],
    ['', 'an empty file'],
    [`${HEADER}\n"2026-02-20,phone`, 'an open quote'],
  ])('refuses a broken file', (file) => {
    const before = tin.dump();
    expect(load(file).outcome).toBe('refused');
    expect(tin.dump()).toEqual(before);
  });
});
