/** Open records: nothing private goes out, what is shown is what goes out, and what is read in is what was put out. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { recordsListData } from '../../commands/records/list.ts';
import { recordsPreviewData } from '../../commands/records/preview.ts';
import {
  type OpenRecord,
  recordsOfCsv,
  recordsToCsv,
  repairStatuses,
} from '../../shared/records/open-record.ts';
import { refusalOf, testBot, wordsOf } from '../test-bot.ts';
import { exportedRecords, mustSay, PRIVATE, workshopYear } from './records-scene.ts';

describe('/records', () => {
  it('puts out the finished jobs, each as it ended, and nothing private', () => {
    const made = workshopYear();
    const preview = mustSay(made, '/records preview 2026');
    const { records } = recordsPreviewData.parse(preview.data);
    expect(records.map(({ id, repair_status }) => [id, repair_status])).toEqual([
      ['bench-1', 'Fixed'],
      ['bench-2', 'End of life'],
      ['bench-3', 'Unknown'],
      ['bench-4', 'Repairable'],
      ['bench-5', 'Unknown'],
    ]);
    expect(records[0]).toMatchObject({
      country: 'AUS',
      event_date: '2026-03-02',
      brand: '',
      group_identifier: '',
    });
    expect(records[0]?.problem).toContain('Fitted: battery (copy).');
    const { text } = exportedRecords(made);
    expect(text).not.toMatch(PRIVATE);
    expect(JSON.stringify(records)).not.toMatch(PRIVATE);
    // Each cell of the file is to be read in the preview.
    for (const record of records)
      for (const cell of Object.values(record)) if (cell) expect(wordsOf(preview)).toContain(cell);
  });

  it('makes the file only of what was seen, and only for a steward', () => {
    const made = workshopYear();
    const { digest } = recordsPreviewData.parse(mustSay(made, '/records preview 2026').data);
    expect(refusalOf(made.say(`/records export 2026 seen:${digest}`))?.code).toBe('not-allowed');
    mustSay(made, '/job finish handed-back job:6');
    expect(refusalOf(made.say(`/records export 2026 seen:${digest}`, { role: 'steward' }))?.code).toBe(
      'wrong-state',
    );
    expect(mustSay(made, '/records preview 2025').title).toBe('2025: no repair was finished');
    expect(exportedRecords(made, 'provider:"Élan Reparatur"').rows[0]?.slice(0, 2)).toEqual([
      'elanreparatur-1',
      'Élan Reparatur',
    ]);
  });

  it('reads in what teaches nothing, and says so: odds and verdicts stay as they were', () => {
    const made = testBot();
    made.say('/family name "Orrin K3" as:glued-front-home-sensor new-price:700');
    const asked = ['/worth "Orrin K3" symptoms:dead price:20', '/trace "dead, no charge" model:"Orrin K3"'];
    const before = asked.map((line) => made.say(line).data);
    const record = (n: number): OpenRecord => ({
      ...{ id: `other-${n}`, data_provider: 'Elsewhere', country: 'AUS', partner_product_category: '' },
      ...{
        product_category: 'Mobile',
        product_category_id: '19',
        brand: 'Orrin',
        year_of_manufacture: '2020',
      },
      ...{ product_age: '6', repair_status: 'Fixed', repair_barrier_if_end_of_life: '' },
      ...{ group_identifier: '', event_date: '2026-01-10', problem: 'dead, charging port replaced' },
    });
    const file = recordsToCsv(Array.from({ length: 400 }, (_, n) => record(n)));
    const read = made.say({ invoke: { command: 'records', action: 'import', options: { file } } });
    expect(read.title).toBe('400 records were read in');
    expect(wordsOf(read)).toContain('move no odds and no price');
    made.say('/trace stop');
    const [worth, trace] = asked.map((line) => made.say(line).data);
    expect(worth).toEqual(before[0]);
    expect({ ...Object(trace), number: 0, trace: 0 }).toEqual({ ...Object(before[1]), number: 0, trace: 0 });
  });

  it('reads in what was put out, once, and tells how it ended elsewhere', () => {
    const made = workshopYear();
    const { text } = exportedRecords(made, 'provider:Elsewhere');
    const { records } = recordsPreviewData.parse(
      mustSay(made, '/records preview 2026 provider:Elsewhere').data,
    );
    const other = testBot();
    const read = (file: string) =>
      other.say({ invoke: { command: 'records', action: 'import', options: { file } } });
    expect(read(text).data).toEqual({ added: 5, known: 0, other: 0 });
    expect(read(text).data).toEqual({ added: 0, known: 5, other: 0 });
    expect(other.store.openRecords.list()).toEqual(records);
    expect(recordsListData.parse(mustSay(other, '/records list').data).providers).toEqual([
      { provider: 'Elsewhere', counts: { Fixed: 1, Repairable: 1, 'End of life': 1, Unknown: 2 } },
    ]);
    const before = other.dump();
    const broken = read(text.replace('Fixed', 'Fixd').replace(',19,', ',190,'));
    expect(refusalOf(broken)).toMatchObject({ code: 'bad-option' });
    expect(refusalOf(read('id,problem\r\nx-1,y'))?.code).toBe('bad-option');
    expect(other.dump()).toEqual(before);
    // A kettle is no phone.
    expect(
      read(text.replaceAll('Mobile,19', 'Kettle,14').replaceAll('elsewhere-', 'kettles-')).data,
    ).toMatchObject({
      other: 5,
    });
  });

  it('any record that may be read comes back from its file as it was', () => {
    const words = fc
      .string({ unit: 'grapheme', maxLength: 30 })
      .map((text) => text.replace(/[\p{C}\p{Z}]+/gu, ' ').trim());
    const record = fc.record<OpenRecord>({
      id: fc.integer({ min: 0, max: 1e6 }).map((n) => `bench-${n}`),
      data_provider: words,
      country: fc.constantFrom('', 'AUS', 'DEU'),
      partner_product_category: words,
      product_category: fc.constant('Mobile'),
      product_category_id: fc.constantFrom('', '19'),
      brand: words,
      year_of_manufacture: fc.constantFrom('', '2019'),
      product_age: fc.constantFrom('', '3', '3.5'),
      repair_status: fc.constantFrom(...repairStatuses),
      repair_barrier_if_end_of_life: fc.constantFrom('', 'Lack of equipment'),
      group_identifier: words,
      event_date: fc.constantFrom('', '2026-02-28'),
      problem: words,
    });
    fc.assert(
      fc.property(fc.array(record, { minLength: 1, maxLength: 6 }), (records) => {
        expect(recordsOfCsv(recordsToCsv(records))).toEqual({ ok: true, records });
      }),
    );
  });
});
