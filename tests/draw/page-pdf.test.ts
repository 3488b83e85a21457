import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { HandOverPage } from '../../commands/job/hand-over-page.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { drawHandOverPage } from '../../src/draw/page-pdf.ts';
import { readPdf } from './read-pdf.ts';

const page = (change: Partial<HandOverPage> = {}): HandOverPage => ({
  title: 'Orrin K3: what was done, and what to know',
  date: '2026-03-02',
  facts: [
    { label: 'Restored by', value: 'Tin Shed' },
    { label: 'Date', value: '2026-03-02' },
  ],
  sections: [
    {
      heading: 'What was done',
      lines: ['It came with this fault: “dead cell”.', 'Zażółć gęślą jaźń, Ωμέγα.'],
    },
    { heading: 'For your safety', lines: ['Local codes and licensed practice come first.'] },
  ],
  footer: 'Tin Shed, job 12',
  more: 'There is more: it is in the page as text.',
  ...change,
});
const plain = (text: string) => text.replaceAll('\u200b', '').replace(/\s+/g, ' ').trim();
/** A4 in points (ISO 216: 210 x 297 mm). */
const A4 = { width: (210 / 25.4) * 72, height: (297 / 25.4) * 72 };

describe('the hand-over page as PDF', () => {
  it('is one A4 page with all that was given on it, in embedded fonts', async () => {
    const bytes = await drawHandOverPage(page());
    const read = readPdf(bytes);
    expect(bytes.subarray(0, 5).toString()).toBe('%PDF-');
    expect(read.pages).toBe(1);
    expect(read.fontsEmbedded).toBe(2);
    const [, width, height] = /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(bytes.toString('latin1')) ?? [];
    expect(Number(width)).toBeCloseTo(A4.width, 0);
    expect(Number(height)).toBeCloseTo(A4.height, 0);
    const { title, facts, sections, footer } = page();
    for (const part of [
      title,
      footer,
      ...facts.flatMap(({ label, value }) => [label, value]),
      ...sections.flatMap(({ heading, lines }) => [heading, ...lines]),
    ])
      expect(plain(read.text)).toContain(part);
  });
  it('is the same for the same data, and another for others', async () => {
    const first = await drawHandOverPage(page());
    expect((await drawHandOverPage(page())).equals(first)).toBe(true);
    expect((await drawHandOverPage(page({ footer: 'Tin Shed, job 13' }))).equals(first)).toBe(false);
    // The day in the document's record is the page's, not the day it was drawn.
    expect(first.toString('latin1')).toContain('(D:20260302120000Z)');
  });
  it('writes smaller where there is much, and keeps all of it', async () => {
    const lines = Array.from(
      { length: 40 },
      (_, index) => `Line ${index} says something about a part that was fitted and its grade.`,
    );
    const long = readPdf(
      await drawHandOverPage(page({ sections: [{ heading: 'Parts', lines }, ...page().sections] })),
    );
    const short = readPdf(await drawHandOverPage(page()));
    const size = ({ lines: all }: typeof long) =>
      all.find(({ text }) => text.startsWith('Local codes'))?.size ?? 0;
    expect(long.pages).toBe(1);
    expect(size(long)).toBeLessThan(size(short));
    for (const line of lines) expect(plain(long.text)).toContain(line);
  });
  it('leaves out of the longest section what no page holds, says so, and keeps what is dangerous', async () => {
    const lines = Array.from({ length: 400 }, (_, index) => `Line ${index}. ${'word '.repeat(60)}`);
    const read = readPdf(
      await drawHandOverPage(page({ sections: [{ heading: 'Parts', lines }, ...page().sections] })),
    );
    expect(read.pages).toBe(1);
    expect(plain(read.text)).toContain('There is more: it is in the page as text.');
    expect(plain(read.text)).toContain('Local codes and licensed practice come first.');
    expect(plain(read.text)).toContain('Tin Shed, job 12');
    expect(plain(read.text)).toContain('Line 0.');
    expect(plain(read.text)).not.toContain('Line 399.');
  });
  it('holds the most that it takes of everything, in the widest letters', async () => {
    const wide = 'W'.repeat(2000);
    const facts = Array.from({ length: 20 }, () => ({ label: wide, value: wide }));
    const sections = Array.from({ length: 20 }, () => ({ heading: wide, lines: [wide, wide, wide] }));
    const read = readPdf(await drawHandOverPage(page({ title: wide, facts, sections, footer: wide })));
    expect(read.pages).toBe(1);
    expect(Math.min(...read.lines.map(({ y }) => y))).toBeGreaterThan(20);
  });
  it('never runs off the page, whatever is written', async () => {
    const text = fc.string({ unit: 'grapheme', maxLength: 400 });
    const wide = fc.integer({ min: 1, max: 3000 }).map((length) => 'W'.repeat(length));
    const any = fc.oneof(text, wide);
    await fc.assert(
      fc.asyncProperty(
        any,
        fc.array(fc.record({ label: any, value: any }), { maxLength: 8 }),
        fc.array(fc.record({ heading: any, lines: fc.array(any, { maxLength: 12 }) }), { maxLength: 8 }),
        any,
        async (title, facts, sections, footer) => {
          const read = readPdf(await drawHandOverPage(page({ title, facts, sections, footer })));
          expect(read.pages).toBe(1);
          for (const { x, y, size } of read.lines) {
            expect(x).toBeGreaterThanOrEqual(50);
            expect(y).toBeGreaterThanOrEqual(20);
            expect(y + size).toBeLessThanOrEqual(A4.height - 40);
          }
        },
      ),
      { numRuns: 12 },
    );
  }, 60_000);
});

describe('a file of a reply', () => {
  const file = { name: 'job-12-hand-over.pdf', mime: 'application/pdf', alt: 'One page' };
  it('is drawn by its kind', async () => {
    const bytes = await drawFile({ ...file, draw: { kind: 'hand-over-page', data: page() } });
    expect(readPdf(bytes).pages).toBe(1);
  });
  it('that is text is its text', async () => {
    expect((await drawFile({ ...file, text: 'größer' })).toString()).toBe('größer');
  });
  it('of an unknown kind or with other data is refused', async () => {
    await expect(drawFile({ ...file, draw: { kind: 'poem', data: {} } })).rejects.toThrow(
      'no drawing "poem"',
    );
    await expect(drawFile({ ...file, draw: { kind: 'toString', data: {} } })).rejects.toThrow('no drawing');
    await expect(drawFile(file)).rejects.toThrow('no drawing');
    await expect(
      drawFile({ ...file, draw: { kind: 'hand-over-page', data: { title: 'x' } } }),
    ).rejects.toThrow();
  });
});
