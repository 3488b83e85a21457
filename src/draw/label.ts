/** The label of a job as a PNG, black on white, for any printer. */
import type { LabelDrawing } from '../../commands/job/label.ts';
import { FONT_FAMILY } from './fonts.ts';
import { fontOptions, measureWith, type Weight } from './measure.ts';

/** 62 by 36 mm at 300 dots an inch, nearly. */
const WIDTH = 732;
const HEIGHT = 425;
const EDGE = 24;
const INNER = WIDTH - 2 * EDGE;
const NUMBER = 92;
const LINE = 30;
const LINE_HEIGHT = 37;

const signs: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };
const escaped = (text: string): string => text.replace(/[&<>"]/g, (sign) => signs[sign] ?? sign);

interface Words {
  x: number;
  y: number;
  size: number;
  weight?: Weight;
}
const words = (text: string, { x, y, size, weight = 'normal' }: Words): string =>
  `<text x="${x}" y="${y}" font-size="${size}" font-weight="${weight}">${escaped(text)}</text>`;

/** The label as SVG: the number large, what warns first, and as many lines as there is room for. */
export async function labelSvg({ number, model, lines, day }: LabelDrawing): Promise<string> {
  const { Resvg } = await import('@resvg/resvg-js');
  const measure = measureWith(Resvg);
  const wide = measure.width(number, NUMBER, 'bold');
  const beside = EDGE + wide + 28;
  const drawn = [
    words(number, { x: EDGE, y: EDGE + 76, size: NUMBER, weight: 'bold' }),
    words(measure.cut(model, 38, WIDTH - EDGE - beside, 'bold'), {
      ...{ x: beside, y: EDGE + 40, size: 38 },
      weight: 'bold',
    }),
    words(measure.cut(day, 28, WIDTH - EDGE - beside), { x: beside, y: EDGE + 76, size: 28 }),
  ];
  let y = EDGE + 116;
  const ordered = [...lines].sort((a, b) => Number(b.warns) - Number(a.warns));
  for (const { text, warns } of ordered) {
    for (const part of measure.wrap(text, LINE, INNER, 3)) {
      y += LINE_HEIGHT;
      if (y > HEIGHT - EDGE) break;
      drawn.push(words(part, { x: EDGE, y, size: LINE, ...(warns ? { weight: 'bold' as const } : {}) }));
    }
    y += 8;
  }
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH}" height="${HEIGHT}" font-family="${FONT_FAMILY}"><rect width="${WIDTH}" height="${HEIGHT}" fill="#fff"/><rect x="2" y="2" width="${WIDTH - 4}" height="${HEIGHT - 4}" fill="none" stroke="#000" stroke-width="3"/>${drawn.join('')}</svg>`;
}

/** The label as PNG. */
export async function drawLabel(data: LabelDrawing): Promise<Buffer> {
  const { Resvg } = await import('@resvg/resvg-js');
  return new Resvg(await labelSvg(data), { font: fontOptions() }).render().asPng();
}
