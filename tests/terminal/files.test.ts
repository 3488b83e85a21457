import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { commands } from '../../commands/index.ts';
import { saveFiles } from '../../src/surfaces/terminal/files.ts';
import { withFiles } from '../../src/surfaces/terminal/line-files.ts';
import { filePoster } from '../../src/surfaces/terminal/poster.ts';
import { greyJpeg } from '../photos/grey-jpeg.ts';
import { type Reply, reply } from '../plain-reply.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const chart = (title: string) => ({
  title,
  subtitle: 'Tin Shed',
  figures: [{ label: 'at the bench', value: '1 h' }],
  currency: 'AUD',
  phones: [
    { job: 1, model: 'Orrin K3', note: '', out: 20, outWords: 'AUD 20.00', back: 60, backWords: 'AUD 60.00' },
  ],
  more: 0,
  words: { spent: 'spent, AUD', back: 'came back', more: 'and 0 more' },
  learnt: null,
  footer: '',
});
const picture = (title: string, kind = 'week-chart'): Reply['files'][number] => ({
  name: 'week-2026-W09.png',
  mime: 'image/png',
  alt: 'One phone [restored]',
  draw: { kind, data: chart(title) },
});
const week = (title: string): Reply =>
  reply({ title, blocks: [{ kind: 'text', text: 'A *word* & <b>' }], files: [picture(title)] });
const noFault = (error: unknown): string => {
  throw error;
};
const isPng = (name: string) => readFileSync(join(folder, name)).subarray(1, 4).toString() === 'PNG';

describe('a file that a line names', () => {
  it('goes in by its path, with or without an @; a table that is typed stays what it is', () => {
    const path = join(folder, 'prices.csv');
    writeFileSync(path, 'date,kind\n2026-03-01,phone');
    const whole = { command: 'prices', action: 'import', options: { file: 'date,kind\n2026-03-01,phone' } };
    expect(withFiles(`/prices import "${path}"`, commands)).toEqual(whole);
    expect(withFiles(`/prices import file:"@${path}"`, commands)).toEqual(whole);
    expect(withFiles('/prices import "date,kind"', commands)).toBeNull();
    expect(() => withFiles('/prices import nowhere.csv', commands)).toThrow('nowhere.csv: it cannot be read');
  });
  it('that is a photo is drawn anew', () => {
    const path = join(folder, 'front.jpg');
    writeFileSync(path, Buffer.concat([greyJpeg([[20, 240]]), Buffer.from('CAM-4711')]));
    const file = withFiles(`/job photo "${path}" when:end`, commands)?.options.file ?? '';
    const png = Buffer.from(file, 'base64');
    expect(png.subarray(1, 4).toString('latin1')).toBe('PNG');
    expect(png.includes('CAM-4711')).toBe(false);
  });
});

describe('the files of a reply', () => {
  it('are drawn and written, over no other, for their owner alone', async () => {
    const notes = [
      ...(await saveFiles(week('one'), folder, noFault)),
      ...(await saveFiles(week('two'), folder, noFault)),
    ];
    expect(notes).toEqual([
      `Saved: ${join(folder, 'week-2026-W09.png')}`,
      'It shows: One phone [restored]',
      `Saved: ${join(folder, 'week-2026-W09-2.png')}`,
      'It shows: One phone [restored]',
    ]);
    expect(isPng('week-2026-W09.png')).toBe(true);
    expect(statSync(join(folder, 'week-2026-W09.png')).mode & 0o777).toBe(0o600);
  });
  it('are named where there is no folder, and nothing is drawn', async () => {
    expect(await saveFiles(week('one'), null, noFault)).toEqual([
      'week-2026-W09.png goes with this: add --save DIR to keep it.',
    ]);
  });
  it('that cannot be drawn or written are said so, and the others are there', async () => {
    const seen: unknown[] = [];
    const fault = (error: unknown) => {
      seen.push(error);
      return 'id-1';
    };
    const text = { name: '../../a b.csv', mime: 'text/csv', alt: '', text: 'x,y\n' };
    const both = reply({ title: 'both', files: [picture('one', 'poem'), text] });
    expect(await saveFiles(both, folder, fault)).toEqual([
      'week-2026-W09.png could not be drawn. The log has it under id-1.',
      `Saved: ${join(folder, '-..-a-b.csv')}`,
    ]);
    expect(String(seen)).toContain('no drawing "poem"');
    writeFileSync(join(folder, 'taken'), '');
    expect(await saveFiles(reply({ title: '', files: [text] }), join(folder, 'taken'), fault)).toEqual([
      `../../a b.csv could not be written to ${join(folder, 'taken')} (EEXIST).`,
    ]);
  });
});

describe('the weekly post of the terminal', () => {
  it('is a text and its picture, named by the key, and found by it', async () => {
    const told: string[] = [];
    const poster = filePoster(folder, (path) => told.push(path));
    expect(await poster.find('week-1-2026-W09')).toBeNull();
    expect(await poster.post('week-1-2026-W09', week('one'))).toBe('week-1-2026-W09.md');
    expect(await poster.find('week-1-2026-W09')).toBe('week-1-2026-W09.md');
    expect(readdirSync(folder).sort()).toEqual(['week-1-2026-W09.md', 'week-1-2026-W09.png']);
    expect(isPng('week-1-2026-W09.png')).toBe(true);
    expect(told).toEqual([join(folder, 'week-1-2026-W09.md')]);
    const text = readFileSync(join(folder, 'week-1-2026-W09.md'), 'utf8');
    expect(text).toMatch(/^!\[One phone \\\[restored\\\]\]\(week-1-2026-W09\.png\)\n/);
    // Indented, so that it is shown as it stands.
    expect(text).toContain('\n    A *word* & <b>\n');
  });
  it('posted again is still one, and an edit takes its place', async () => {
    const poster = filePoster(folder);
    await poster.post('week-1-2026-W09', week('one'));
    const before = readFileSync(join(folder, 'week-1-2026-W09.png'));
    await poster.post('week-1-2026-W09', week('one'));
    expect(readdirSync(folder)).toHaveLength(2);
    expect(readFileSync(join(folder, 'week-1-2026-W09.png')).equals(before)).toBe(true);
    await poster.edit('week-1-2026-W09.md', week('other'));
    expect(readdirSync(folder)).toHaveLength(2);
    expect(readFileSync(join(folder, 'week-1-2026-W09.md'), 'utf8')).toContain('other');
    expect(readFileSync(join(folder, 'week-1-2026-W09.png')).equals(before)).toBe(false);
  });
  it('is not there until it is whole', async () => {
    const poster = filePoster(folder);
    const broken = { ...week('one'), files: [picture('one', 'poem')] };
    await expect(poster.post('week-1-2026-W09', broken)).rejects.toThrow('no drawing');
    expect(await poster.find('week-1-2026-W09')).toBeNull();
  });
});
