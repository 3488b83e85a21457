/**
 * The picture of a week: its figures, and for each phone what was spent (a hollow square) and what came back (a dot). Made
 * to be read on a telephone: 1000 pixels wide, no letter under 24 of them.
 */
import type { TopLevelSpec } from 'vega-lite';
import type { WeekChartData } from '../../commands/week/week-picture.ts';
import { FONT_FAMILY } from './fonts.ts';
import { fontOptions, type Measure, measureWith, type Weight } from './measure.ts';
import { palette } from './palette.ts';

export const CHART_WIDTH = 1000;
const WIDTH = CHART_WIDTH;
const EDGE = 56;
const INNER = WIDTH - 2 * EDGE;
const ROW = 122;
const SMALL = 26;

type Layer = Extract<TopLevelSpec, { layer: unknown }>['layer'][number];
type Phone = WeekChartData['phones'][number];

interface Words {
  x: number;
  y: number;
  size: number;
  weight?: Weight;
  colour?: string;
  align?: 'left' | 'right' | 'center';
}

/** One line of words; y is that of its baseline. */
const words = (
  text: string,
  { x, y, size, weight = 'normal', colour = palette.ink, align = 'left' }: Words,
): Layer => ({
  data: { values: [{}] },
  mark: {
    type: 'text',
    text: [text],
    x,
    y,
    align,
    baseline: 'alphabetic',
    fontSize: size,
    fontWeight: weight,
    color: colour,
    font: FONT_FAMILY,
  },
});

const shapes = {
  out: { shape: 'square', filled: false, stroke: palette.spent, strokeWidth: 5, size: 560 },
  back: { shape: 'circle', filled: true, color: palette.back, size: 420 },
} as const;

/** A mark of the key, at a place in pixels. */
const sign = (kind: keyof typeof shapes, x: number, y: number): Layer => ({
  data: { values: [{}] },
  mark: { type: 'point', opacity: 1, x, y, ...shapes[kind] },
});

/** A rounded step (1, 2 or 5 times a power of ten) that divides the range into at most four. */
export function stepFor(most: number): number {
  const power = 10 ** Math.floor(Math.log10(most / 4));
  return power * ([1, 2, 5, 10].find((times) => most / (power * times) <= 4) ?? 10);
}

interface Axis {
  /** Pixels where 0 and the largest amount lie. */
  from: number;
  to: number;
  most: number;
  step: number;
}

function axisFor(phones: readonly Phone[], measure: Measure): Axis {
  const widest = Math.max(
    0,
    ...phones.flatMap(({ outWords, backWords }) => [
      measure.width(outWords, SMALL),
      measure.width(backWords, SMALL),
    ]),
  );
  const room = Math.min(widest + 36, INNER * 0.36);
  const largest = Math.max(1, ...phones.flatMap(({ out, back }) => [out, back ?? 0]));
  const step = stepFor(largest);
  return { from: EDGE + room, to: WIDTH - EDGE - room, most: Math.ceil(largest / step) * step, step };
}

/** Places on the axis of money; all layers share its scale. */
const along = (field: string, { from, to, most }: Axis) => ({
  field,
  type: 'quantitative' as const,
  scale: { domain: [0, most], range: [from, to], nice: false, zero: false },
  axis: null,
});
const down = (field: string, height: number) => ({
  field,
  type: 'quantitative' as const,
  scale: { domain: [0, height], range: [0, height], nice: false, zero: false },
  axis: null,
});

/** An amount on the axis, at the height of its row. */
const placed = (field: string, axis: Axis, height: number) => ({
  x: along(field, axis),
  y: down('y', height),
});

/** The scale of money: short lines behind each phone's marks, none behind the words above them, and amounts below. */
function gridLayers(axis: Axis, middles: readonly number[], bottom: number, height: number): Layer[] {
  const amounts = Array.from(
    { length: Math.round(axis.most / axis.step) + 1 },
    (_, index) => index * axis.step,
  );
  const grid = middles.flatMap((y) => amounts.map((at) => ({ at, from: y - 24, to: y + 24 })));
  const labels = amounts.map((at) => ({
    at,
    y: bottom,
    label: String(Number(at.toPrecision(6))),
  }));
  return [
    {
      data: { values: grid },
      mark: { type: 'rule', color: palette.grid, strokeWidth: 2 },
      encoding: { x: along('at', axis), y: down('from', height), y2: { field: 'to' } },
    },
    {
      data: { values: labels },
      mark: { type: 'text', baseline: 'top', dy: 6, fontSize: 24, font: FONT_FAMILY, color: palette.muted },
      encoding: { x: along('at', axis), y: down('y', height), text: { field: 'label', type: 'nominal' } },
    },
  ];
}

/** Words beside a mark, on the side away from the other one, with the card's colour around them. */
function beside(
  at: (field: string) => ReturnType<typeof placed>,
  field: 'out' | 'back',
  side: 'left' | 'right',
  values: readonly object[],
  colour: string = palette[field === 'out' ? 'spent' : 'back'],
): Layer[] {
  return [{ stroke: palette.card, strokeWidth: 10 }, {}].map((halo) => ({
    data: { values },
    mark: {
      type: 'text',
      align: side === 'left' ? 'right' : 'left',
      baseline: 'middle',
      dx: side === 'left' ? -26 : 26,
      fontSize: SMALL,
      font: FONT_FAMILY,
      fontWeight: field === 'back' ? 'bold' : 'normal',
      color: colour,
      ...halo,
    },
    encoding: { ...at(field), text: { field: `${field}Words`, type: 'nominal' } },
  }));
}

function moneyLayers(phones: readonly Phone[], axis: Axis, top: number, height: number): Layer[] {
  const middle = (index: number) => top + index * ROW + 76;
  const rows = phones.map((phone, index) => {
    const forward = phone.back === null || phone.back >= phone.out;
    return { ...phone, y: middle(index), back: phone.back ?? phone.out, kept: phone.back === null, forward };
  });
  const sold = rows.filter(({ kept }) => !kept);
  const at = (field: string) => placed(field, axis, height);
  return [
    ...gridLayers(
      axis,
      rows.map(({ y }) => y),
      top + phones.length * ROW - 18,
      height,
    ),
    ...[true, false].map(
      (forward): Layer => ({
        data: { values: sold.filter((row) => row.forward === forward) },
        mark: {
          type: 'rule',
          color: palette.line,
          strokeWidth: 6,
          ...(forward ? {} : { strokeDash: [4, 8] }),
        },
        encoding: { ...at('out'), x2: { field: 'back' } },
      }),
    ),
    {
      data: { values: rows },
      mark: { type: 'point', opacity: 1, ...shapes.out, fill: palette.card, filled: true },
      encoding: at('out'),
    },
    { data: { values: sold }, mark: { type: 'point', opacity: 1, ...shapes.back }, encoding: at('back') },
    ...beside(
      at,
      'out',
      'left',
      rows.filter(({ forward }) => forward),
    ),
    ...beside(
      at,
      'out',
      'right',
      rows.filter(({ forward }) => !forward),
    ),
    ...beside(
      at,
      'back',
      'right',
      sold.filter(({ forward }) => forward),
    ),
    ...beside(
      at,
      'back',
      'left',
      sold.filter(({ forward }) => !forward),
    ),
    ...beside(
      at,
      'back',
      'right',
      rows.filter(({ kept }) => kept),
      palette.ink,
    ),
  ];
}

/** Lines of text from a height on, one below the other. */
class Column {
  readonly layers: Layer[] = [];
  y: number;

  constructor(y: number) {
    this.y = y;
  }
  write(text: string, style: Omit<Words, 'x' | 'y'> & { x?: number }): void {
    this.layers.push(words(text, { x: EDGE, y: this.y, ...style }));
  }
  lines(lines: readonly string[], step: number, style: Omit<Words, 'x' | 'y'>): void {
    for (const line of lines) {
      this.y += step;
      this.write(line, style);
    }
  }
}

/** The heading, and what the two marks mean. */
function headOf(data: WeekChartData, measure: Measure): Column {
  const column = new Column(92);
  column.write(measure.cut(data.title, 44, INNER, 'bold'), { size: 44, weight: 'bold' });
  column.y += 10;
  column.lines(measure.wrap(data.subtitle, SMALL, INNER, 2), 36, { size: SMALL, colour: palette.muted });
  column.y += 74;
  const { y } = column;
  const keyAt = (kind: keyof typeof shapes, text: string, x: number, colour: string): number => {
    column.layers.push(sign(kind, x + 14, y - 9), words(text, { x: x + 38, y, size: SMALL, colour }));
    return x + 38 + measure.width(text, SMALL) + 48;
  };
  const next = keyAt('out', data.words.spent, EDGE, palette.spent);
  keyAt('back', data.words.back, next, palette.back);
  column.y += 30;
  return column;
}

/** Each phone's name and what is said of it, above its marks. */
const rowWords = (data: WeekChartData, top: number, measure: Measure): Layer[] =>
  data.phones.flatMap(({ model, job, note }, index) => {
    const line = top + index * ROW + 34;
    const number = ` #${job}`;
    const room = INNER - measure.width(note, SMALL) - measure.width(number, 30, 'bold') - 40;
    return [
      words(`${measure.cut(model, 30, room, 'bold')}${number}`, {
        x: EDGE,
        y: line,
        size: 30,
        weight: 'bold',
      }),
      words(note, { x: WIDTH - EDGE, y: line, size: SMALL, colour: palette.muted, align: 'right' }),
    ];
  });

/** What stands below the phones: how many more, what was learnt, figures and the last line. */
function footOf(data: WeekChartData, measure: Measure, from: number): Column {
  const column = new Column(from);
  if (data.more) column.lines([data.words.more], 34, { size: SMALL, colour: palette.muted });
  if (data.learnt) {
    column.y += 66;
    column.write('Learnt', { size: 30, weight: 'bold' });
    column.lines(measure.wrap(data.learnt, SMALL, INNER, 4), 38, { size: SMALL });
  }
  const muted = { size: 24, colour: palette.muted };
  if (data.figures.length) {
    column.y += 28;
    const line = data.figures.map(({ label, value }) => `${value} ${label}`).join('  ·  ');
    column.lines(measure.wrap(line, 24, INNER, 4), 34, muted);
  }
  if (data.footer) {
    column.y += 24;
    column.lines(measure.wrap(data.footer, 24, INNER, 2), 34, muted);
  }
  return column;
}

const cardOf = (height: number): Layer => ({
  data: { values: [{}] },
  mark: {
    type: 'rect',
    x: 3,
    y: 3,
    x2: WIDTH - 3,
    y2: height - 3,
    cornerRadius: 28,
    fill: palette.card,
    stroke: palette.border,
    strokeWidth: 4,
    opacity: 1,
  },
});

/** The whole picture as a specification of Vega-Lite. */
function weekChartSpec(data: WeekChartData, measure: Measure): TopLevelSpec {
  const head = headOf(data, measure);
  const top = head.y;
  const after = top + data.phones.length * ROW + 16;
  const foot = footOf(data, measure, after);
  const height = foot.y + (foot.y === after ? 20 : 44);
  return {
    width: WIDTH,
    height,
    padding: 0,
    autosize: 'none',
    background: 'transparent',
    config: { view: { stroke: null } },
    layer: [
      cardOf(height),
      ...moneyLayers(data.phones, axisFor(data.phones, measure), top, height),
      ...head.layers,
      ...foot.layers,
      ...rowWords(data, top, measure),
    ],
  };
}

const load = async () => {
  const [{ Resvg }, { compile }, { parse, View }] = await Promise.all([
    import('@resvg/resvg-js'),
    import('vega-lite'),
    import('vega'),
  ]);
  return { Resvg, compile, parse, View };
};
let libraries: ReturnType<typeof load> | undefined;

/** What draws, loaded once: after that its files are no longer needed. */
export function chartLibraries(): ReturnType<typeof load> {
  libraries ??= load();
  return libraries;
}

/** The picture as SVG; its words are text in the fonts that `fontOptions` names. */
export async function weekChartSvg(data: WeekChartData): Promise<string> {
  const { Resvg, compile, parse, View } = await chartLibraries();
  const { spec } = compile(weekChartSpec(data, measureWith(Resvg)));
  const view = new View(parse(spec), { renderer: 'none' });
  const svg = await view.toSVG();
  view.finalize();
  return svg;
}

/** The picture as PNG. */
export async function drawWeekChart(data: WeekChartData): Promise<Buffer> {
  const svg = await weekChartSvg(data);
  const { Resvg } = await chartLibraries();
  return new Resvg(svg, { font: fontOptions() }).render().asPng();
}
