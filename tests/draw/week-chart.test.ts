import { Resvg } from '@resvg/resvg-js';
import { describe, expect, it } from 'vitest';
import { type WeekChartData, weekChartData } from '../../commands/week/week-picture.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { fontOptions, measureWith } from '../../src/draw/measure.ts';
import { CHART_WIDTH, drawWeekChart, stepFor, weekChartSvg } from '../../src/draw/week-chart.ts';

const phone = (change: Partial<WeekChartData['phones'][number]> = {}) => ({
  job: 12,
  model: 'Orrin K3',
  note: '3 days, 1.3 h',
  out: 24,
  outWords: 'AUD 24.00',
  back: 148,
  backWords: 'AUD 148.00',
  ...change,
});
const chart = (change: Partial<WeekChartData> = {}): WeekChartData =>
  weekChartData.parse({
    title: '2 phones back in use',
    subtitle: 'Tin Shed, 23 February to 1 March 2026 (2026-W09)',
    figures: [
      { label: 'at the bench', value: '4.4 h' },
      { label: 'spent', value: 'AUD 286.00' },
      { label: 'kept in use', value: '0.28 to 0.46 kg' },
    ],
    currency: 'AUD',
    phones: [
      phone(),
      phone({
        job: 13,
        model: 'Halden Fold',
        out: 210,
        outWords: 'AUD 210.00',
        back: null,
        backWords: 'kept',
      }),
    ],
    more: 0,
    words: { spent: 'spent, AUD', back: 'came back', more: 'and 0 more in the message' },
    learnt: 'Job 12, Orrin K3: it was “dead cell”, which had 4 % at intake.',
    footer: 'Also finished: 1 stripped (4 parts kept).',
    ...change,
  } satisfies WeekChartData);

interface Text {
  text: string;
  x: number;
  y: number;
  size: number;
  align: string;
  bold: boolean;
}
/** The texts of an SVG as Vega writes it: each in a group with its place. */
const textsOf = (svg: string): Text[] =>
  [...svg.matchAll(/<text ([^>]*)>([^<]*)<\/text>/g)].map(([, attributes = '', text = '']) => {
    const [, x, y] = /transform="translate\(([-\d.]+),([-\d.]+)\)/.exec(attributes) ?? [];
    return {
      text: text.replaceAll('&lt;', '<').replaceAll('&gt;', '>').replaceAll('&amp;', '&'),
      x: Number(x),
      y: Number(y),
      size: Number(/font-size="([\d.]+)px"/.exec(attributes)?.[1]),
      align: /text-anchor="(\w+)"/.exec(attributes)?.[1] ?? 'start',
      bold: attributes.includes('font-weight="bold"'),
    };
  });
const sizeOf = (png: Buffer) => ({ width: png.readUInt32BE(16), height: png.readUInt32BE(20) });
const measure = measureWith(Resvg);

describe('the picture of a week', () => {
  it('is a PNG of 1000 pixels across, the same for the same data', async () => {
    const png = await drawWeekChart(chart());
    expect(png.subarray(1, 4).toString()).toBe('PNG');
    expect(sizeOf(png).width).toBe(1000);
    expect((await drawWeekChart(chart())).equals(png)).toBe(true);
    expect((await drawWeekChart(chart({ title: 'other' }))).equals(png)).toBe(false);
  });
  it('says every figure, phone and amount in words', async () => {
    const texts = textsOf(await weekChartSvg(chart())).map(({ text }) => text);
    for (const part of [
      '2 phones back in use',
      '4.4 h at the bench · AUD 286.00 spent · 0.28 to 0.46 kg kept in use',
      'Orrin K3 #12',
      'Halden Fold #13',
      '3 days, 1.3 h',
      'AUD 24.00',
      'AUD 148.00',
      'AUD 210.00',
      'kept',
      'came back',
      'Also finished: 1 stripped (4 parts kept).',
    ])
      expect(texts).toContain(part);
  });
  it('leads with the phones: the figures stand below them and what was learnt, and smaller', async () => {
    const texts = textsOf(await weekChartSvg(chart()));
    const at = (part: string) => texts.find(({ text }) => text.includes(part)) ?? { y: Number.NaN, size: 0 };
    expect(at('at the bench').y).toBeGreaterThan(at('Halden Fold').y);
    expect(at('at the bench').y).toBeGreaterThan(at('dead cell').y);
    expect(at('at the bench').size).toBeLessThan(at('Halden Fold').size);
  });
  it('has no letter under 24 pixels: 8 on a telephone 360 wide', async () => {
    for (const { size } of textsOf(await weekChartSvg(chart()))) expect(size).toBeGreaterThanOrEqual(24);
  });
  it('marks what was spent with squares and what came back with dots, not by colour alone', async () => {
    const shapes = (svg: string) => ({
      squares: [
        ...svg.matchAll(/<path [^>]*d="M-[\d.]+,-[\d.]+h[\d.]+v[\d.]+h-[\d.]+Z"[^>]*stroke="#a8430f"/gi),
      ].length,
      dots: [...svg.matchAll(/<path [^>]*d="M[\d.]+,0A[^"]*"[^>]*fill="#0b5a8f"/gi)].length,
    });
    // One of each is the key's; a kept phone has no dot.
    expect(shapes(await weekChartSvg(chart()))).toEqual({ squares: 3, dots: 2 });
  });
  it('puts money where it belongs on one axis', async () => {
    const svg = await weekChartSvg(
      chart({
        phones: [
          phone({ out: 0, outWords: 'nil', back: 400, backWords: 'top' }),
          phone({ out: 200, outWords: 'half', back: 400, backWords: 'whole' }),
        ],
      }),
    );
    const texts = textsOf(svg);
    const at = (text: string) => texts.find((one) => one.text === text)?.x ?? Number.NaN;
    expect(at('top')).toBeCloseTo(at('whole'), 3);
    expect(at('half')).toBeCloseTo((at('nil') + at('top') - 52) / 2, 3);
  });
  it('draws a loss the other way round, dashed, with the words outside', async () => {
    const svg = await weekChartSvg(
      chart({ phones: [phone({ out: 90, outWords: 'out', back: 40, backWords: 'in' })] }),
    );
    const texts = textsOf(svg);
    const out = texts.find(({ text }) => text === 'out');
    const back = texts.find(({ text }) => text === 'in');
    expect(back?.align).toBe('end');
    expect(out?.align).toBe('start');
    expect(back?.x).toBeLessThan(out?.x ?? 0);
    expect(svg).toMatch(/stroke-dasharray="4,8"/);
    expect(await weekChartSvg(chart())).not.toMatch(/stroke-dasharray="4,8"/);
  });
  it('keeps all words on the card, however long and whatever signs', async () => {
    const long = 'Wide & <Name> "of" W'.repeat(12);
    const data = chart({
      title: long,
      subtitle: long.repeat(3),
      figures: Array.from({ length: 6 }, () => ({ label: long, value: 'AUD 1,234,567,890.00' })),
      phones: Array.from({ length: 8 }, (_, index) =>
        phone({
          model: long,
          note: 'under a day, 1999 h',
          out: 1e7 * index,
          outWords: `AUD ${index}0,000,000.00`,
          back: 7e7,
          backWords: 'AUD 70,000,000.00',
        }),
      ),
      more: 31,
      words: { spent: 'spent, AUD', back: 'came back', more: 'and 31 more in the message' },
      learnt: long.repeat(4),
      footer: long.repeat(2),
    });
    const svg = await weekChartSvg(data);
    const { height } = sizeOf(await drawWeekChart(data));
    for (const { text, x, y, size, align, bold } of textsOf(svg)) {
      const width = measure.width(text, size, bold ? 'bold' : 'normal');
      const left = align === 'end' ? x - width : align === 'middle' ? x - width / 2 : x;
      expect(left).toBeGreaterThanOrEqual(30);
      expect(left + width).toBeLessThanOrEqual(CHART_WIDTH - 30);
      expect(y).toBeLessThan(height - 20);
    }
    expect(svg).toContain('and 31 more in the message');
  });
  it('is drawn from the file of a reply', async () => {
    const bytes = await drawFile({
      name: 'w.png',
      mime: 'image/png',
      alt: '',
      draw: { kind: 'week-chart', data: chart() },
    });
    expect(sizeOf(bytes).width).toBe(1000);
    await expect(
      drawFile({
        name: 'w.png',
        mime: 'image/png',
        alt: '',
        draw: { kind: 'week-chart', data: { title: 1 } },
      }),
    ).rejects.toThrow();
  });
  it('takes its letters from the package alone', async () => {
    // Without the fonts nothing is written: so no font of the machine is used.
    const svg = await weekChartSvg(chart());
    const dark = (font: ConstructorParameters<typeof Resvg>[1]) =>
      new Resvg(svg, font).render().pixels.filter((one) => one < 60).length;
    expect(dark({ font: fontOptions() })).toBeGreaterThan(2 * dark({ font: { loadSystemFonts: false } }));
  });
});

describe('steps of the axis', () => {
  it('are 1, 2 or 5 times a power of ten, at most four to the largest amount', () => {
    expect([1, 3, 4, 9, 90, 118, 365, 401, 2000, 1e7].map(stepFor)).toEqual([
      0.5, 1, 1, 5, 50, 50, 100, 200, 500, 5e6,
    ]);
  });
});
