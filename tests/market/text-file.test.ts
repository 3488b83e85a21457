/** Files as spreadsheets write them. */
import { describe, expect, it } from 'vitest';
import { cellMarkOf, textOfBytes } from '../../shared/csv/text-file.ts';
import { parseSightingsCsv, SIGHTING_COLUMNS } from '../../shared/market/sightings-csv.ts';

const TEXT = 'name;Größe\nÄpfel;20,50 €\n';
const swapped = (bytes: Buffer): Buffer => Buffer.from(bytes).swap16();

describe('the bytes of a text file', () => {
  it.each([
    ['UTF-8', Buffer.from(TEXT)],
    ['UTF-8 with a mark', Buffer.from(`\uFEFF${TEXT}`)],
    ['UTF-16, little end first', Buffer.from(`\uFEFF${TEXT}`, 'utf16le')],
    ['UTF-16, big end first', swapped(Buffer.from(`\uFEFF${TEXT}`, 'utf16le'))],
    ['UTF-16 without a mark', Buffer.from(TEXT.replace('€', 'E'), 'utf16le')],
    ['Latin-1', Buffer.from(TEXT.replace('€', 'E'), 'latin1')],
  ])('are read: %s', (_, bytes) => {
    expect(textOfBytes(bytes)?.replace('E', '€')).toBe(TEXT);
  });
  it('are refused where they are no text', () => {
    expect(textOfBytes(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0, 0, 0, 1, 2]))).toBeNull();
  });
});

describe('prices', () => {
  const options = { currency: 'AUD', today: '2026-03-02', knownModel: () => true };
  const row = ['2026-02-01', 'phone', 'Orrin K3', '', '0', '64', '', 'AUD', 'sold', ''];
  it.each([
    [',', '20.50'],
    [';', '20,50'],
    ['\t', '20,50'],
    [';', '20.50'],
  ])('are read with cells parted by %j', (mark, price) => {
    const cells = row.with(6, price).join(mark);
    const { rows, problems } = parseSightingsCsv(`${SIGHTING_COLUMNS.join(mark)}\n${cells}\n`, options);
    expect(problems).toEqual([]);
    expect(rows).toMatchObject([{ price: { minor: 2050, currency: 'AUD' } }]);
  });
  it('say outright what parts their cells', () => {
    expect(cellMarkOf('sep=;\na,b;c')).toBe(';');
  });
});
