/** The label of a job: what stands on it, in black on white, at the size of a label. */
import { describe, expect, it } from 'vitest';
import { labelDrawing } from '../../commands/job/label.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { drawLabel, labelSvg } from '../../src/draw/label.ts';
import { testBot } from '../test-bot.ts';
import { readPdf } from './read-pdf.ts';

function labelOf(symptoms: string, options = '') {
  const made = testBot();
  made.say('/family name model:"Orrin K3" as:glued-front-home-sensor new-price:400', { role: 'steward' });
  made.say(
    `/job open "Orrin K3" symptoms:"${symptoms}" imei:490154203237518 ownership:shown lock:free stolen:clear`,
  );
  const reply = made.say(`/job label ${options}`);
  expect(reply.outcome, reply.title).toBe('answered');
  return { file: reply.files[0], data: labelDrawing.parse(reply.files[0]?.draw?.data) };
}
const textsOf = (svg: string): string[] =>
  [...svg.matchAll(/<text [^>]*>([^<]*)<\/text>/g)].map(([, text]) => text ?? '');

describe('the label', () => {
  it('has number, model, complaints and what stays with its board, and nothing private', async () => {
    const { file, data } = labelOf('dead, no charge');
    const texts = textsOf(await labelSvg(data)).join(' ');
    for (const part of ['1', 'Orrin K3', 'does not charge', 'Stays with its board: fingerprint sensor'])
      expect(texts).toContain(part);
    expect(texts).not.toMatch(/Ines|7518|4901/);
    expect(file?.alt).toContain('Stays with its board');
    const png = await drawLabel(data);
    expect(png.subarray(1, 4).toString()).toBe('PNG');
    expect([png.readUInt32BE(16), png.readUInt32BE(20)]).toEqual([732, 425]);
  });
  it('is a page of its own size as PDF, with the same words as letters', async () => {
    const { file, data } = labelOf('swollen, no charge', 'as:pdf');
    expect(file).toMatchObject({ name: 'job-1-label.pdf', mime: 'application/pdf' });
    if (!file) throw new Error('no label');
    const bytes = await drawFile(file);
    // 62 by 36 mm in points of 1/72 inch, to a quarter of a millimetre.
    const [, width = '', height = ''] =
      /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(bytes.toString('latin1')) ?? [];
    expect(Math.abs((Number(width) / 72) * 25.4 - 62)).toBeLessThan(0.25);
    expect(Math.abs((Number(height) / 72) * 25.4 - 36)).toBeLessThan(0.25);
    const read = readPdf(bytes);
    expect(read.pages).toBe(1);
    expect(read.lines.map(({ text }) => text)).toEqual(textsOf(await labelSvg(data)));
    expect(read.text).toContain('Cell may be dangerous');
    for (const { x, y, size } of read.lines) {
      expect(x).toBeGreaterThanOrEqual(0);
      expect(y).toBeGreaterThan(0);
      expect(y + size * 0.8).toBeLessThan(Number(height));
    }
    expect((await drawFile(file)).equals(bytes)).toBe(true);
  });
  it('warns first, in bold, and keeps within its frame whatever is written', async () => {
    const { data } = labelOf('swollen');
    expect(textsOf(await labelSvg(data))[3]).toContain('Cell may be dangerous');
    const long = {
      ...data,
      model: 'Y'.repeat(300),
      lines: [...data.lines, { text: 'w '.repeat(900), warns: false }],
    };
    for (const [, y] of (await labelSvg(long)).matchAll(/<text [^>]*y="(\d+)"/g))
      expect(Number(y)).toBeLessThan(425);
    expect(await labelSvg({ ...data, model: '<b>&"' })).toContain('&lt;b&gt;&amp;&quot;');
  });
});
