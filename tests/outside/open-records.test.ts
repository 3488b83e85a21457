/** Open records against the standard's table schema: each field's own constraints, written down here apart from the bot's. */
import { expect } from 'vitest';
import { countryCodes } from '../../commands/setup/iso-lookups.ts';
import { countryAlpha3 } from '../../shared/records/country.ts';
import { RECORD_COLUMNS, recordsOfCsv } from '../../shared/records/open-record.ts';
import { exportedRecords, workshopYear } from '../commands/records-scene.ts';
import { outside } from './check.ts';

const where = '/records export';
const source = 'ords-schema';

/** The fields of the published schema, in its order: their names, and what each value must be where it is not empty. */
const fields: readonly (readonly [name: string, must: RegExp])[] = [
  ['id', /^[a-z]+-[0-9]+$/],
  ['data_provider', /^.+$/],
  ['country', /^[A-Z]{3}$/],
  ['partner_product_category', /^.+$/],
  ['product_category', /^.+$/],
  ['product_category_id', /^[0-9]{1,2}$/],
  ['brand', /^.+$/],
  ['year_of_manufacture', /^[0-9]{4}$/],
  ['product_age', /^-?[0-9]+(\.[0-9]+)?$/],
  ['repair_status', /^(Fixed|Repairable|End of life|Unknown)$/],
  [
    'repair_barrier_if_end_of_life',
    /^(Spare parts not available|Spare parts too expensive|No way to open product|Repair information not available|Lack of equipment|Too worn out)$/,
  ],
  ['group_identifier', /^.+$/],
  ['event_date', /^[0-9]{4}-[0-9]{2}-[0-9]{2}$/],
  ['problem', /^.+$/s],
];

outside(
  {
    id: 'records-01',
    what: 'The columns, in the order of the schema',
    value: fields.map(([name]) => name).join(', '),
    source,
    where,
  },
  () => {
    const { header } = exportedRecords(workshopYear());
    expect(header).toEqual(fields.map(([name]) => name));
    expect([...RECORD_COLUMNS]).toEqual(header);
  },
);
outside(
  {
    id: 'records-02',
    what: 'Every cell of a year’s file: pattern, list of values, and an id that is there once',
    value: 'all valid',
    source,
    where,
  },
  () => {
    const { rows } = exportedRecords(workshopYear());
    expect(rows.length).toBeGreaterThanOrEqual(5);
    expect(new Set(rows.map(([id]) => id)).size).toBe(rows.length);
    for (const row of rows)
      fields.forEach(([name, must], at) => {
        const cell = row[at] ?? '';
        // A schema without "required" lets a cell be empty; these are never.
        if (['id', 'product_category', 'repair_status', 'event_date'].includes(name))
          expect(cell).not.toBe('');
        if (cell) expect(cell, `${name}: ${cell}`).toMatch(must);
      });
  },
);
outside(
  {
    id: 'records-03',
    what: 'A phone’s category and its number',
    value: 'Mobile, 19',
    source: 'ords-categories',
    where,
  },
  () => {
    const { rows, header } = exportedRecords(workshopYear());
    for (const row of rows) {
      expect(row[header.indexOf('product_category')]).toBe('Mobile');
      expect(row[header.indexOf('product_category_id')]).toBe('19');
    }
  },
);
outside(
  {
    id: 'records-04',
    what: 'What the standard’s words and the schema’s words call a barrier: both are read, nothing else',
    value: 'Product too worn out; Too worn out',
    source: ['ords-standard', 'ords-schema'],
    where: '/records import',
  },
  () => {
    const { header, rows } = exportedRecords(workshopYear());
    const withBarrier = (words: string) => {
      const row = header.map((name, at) =>
        name === 'repair_barrier_if_end_of_life' ? words : (rows[0]?.[at] ?? ''),
      );
      return recordsOfCsv([header, row].map((cells) => cells.map((one) => `"${one}"`).join(',')).join('\r\n'))
        .ok;
    };
    expect(withBarrier('Product too worn out')).toBe(true);
    expect(withBarrier('Too worn out')).toBe(true);
    expect(withBarrier('Nobody wanted to')).toBe(false);
  },
);
outside(
  {
    id: 'records-05',
    what: 'Three letters for each of the countries that can be set up',
    value: '249 of 249',
    source: 'iso-codes',
    where: 'shared/records/country.ts',
  },
  () => {
    const three = countryCodes().map((code) => countryAlpha3(code));
    expect(three.every((code) => code !== null && /^[A-Z]{3}$/.test(code))).toBe(true);
    expect(new Set(three).size).toBe(249);
    expect(['AU', 'DE', 'AT', 'GB', 'US-OR', 'CH'].map((code) => countryAlpha3(code))).toEqual([
      ...['AUS', 'DEU', 'AUT', 'GBR', 'USA', 'CHE'],
    ]);
    expect(countryAlpha3('XX')).toBeNull();
  },
);
