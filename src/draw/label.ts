/** The label of a job, black on white, for any printer: as a picture, and as a page of its size. */
import type { LabelDrawing } from '../../commands/job/label.ts';
import { FONT_FAMILY } from './fonts.ts';
import { fontOptions, measureWith, type Weight } from './measure.ts';
import { writtenPdf } from './written-pdf.ts';

/** 62 by 36 mm at 300 dots an inch, nearly. */
const WIDTH = 732;
const HEIGHT = 425;
/** Of a dot: 72 points to the inch. */
const POINTS = 72 / 300;
const EDGE = 24;
const INNER = WIDTH - 2 * EDGE;
const NUMBER = 92;
const LINE = 30;
const LINE_HEIGHT = 37;

const signs: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };
const escaped = (text: string): string => text.replace(/[&<>"]/g, (sign) => signs[sign] ?? sign);

interface PlacedWords {
  text: string;
  x: number;
  /** Of the line the letters stand on, from the top. */
  y: number;
  size: number;
  weight: Weight;
}

/** Where what stands: the number large, what warns first, and as many lines as there is room for. */
async function laidOut({ number, model, lines, day }: LabelDrawing): Promise<PlacedWords[]> {
  const { Resvg } = await import('@resvg/resvg-js');
  const measure = measureWith(Resvg);
  const wide = measure.width(number, NUMBER, 'bold');
  const beside = EDGE + wide + 28;
  const placed: PlacedWords[] = [
    { text: number, x: EDGE, y: EDGE + 76, size: NUMBER, weight: 'bold' },
    {
      text: measure.cut(model, 38, WIDTH - EDGE - beside, 'bold'),
      ...{ x: beside, y: EDGE + 40, size: 38 },
      weight: 'bold',
    },
    {
      text: measure.cut(day, 28, WIDTH - EDGE - beside),
      ...{ x: beside, y: EDGE + 76, size: 28 },
      weight: 'normal',
    },
  ];
  let y = EDGE + 116;
  const ordered = [...lines].sort((a, b) => Number(b.warns) - Number(a.warns));
  for (const { text, warns } of ordered) {
    for (const part of measure.wrap(text, LINE, INNER, 3)) {
      y += LINE_HEIGHT;
      if (y > HEIGHT - EDGE) break;
      placed.push({ text: part, x: EDGE, y, size: LINE, weight: warns ? 'bold' : 'normal' });
    }
    y += 8;
  }
  return placed;
}

/** The label as SVG. */
export async function labelSvg(data: LabelDrawing): Promise<string> {
  const drawn = (await laidOut(data)).map(
    ({ text, x, y, size, weight }) =>
      `<text x="${x}" y="${y}" font-size="${size}" font-weight="${weight}">${escaped(text)}</text>`,
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH}" height="${HEIGHT}" font-family="${FONT_FAMILY}"><rect width="${WIDTH}" height="${HEIGHT}" fill="#fff"/><rect x="2" y="2" width="${WIDTH - 4}" height="${HEIGHT - 4}" fill="none" stroke="#000" stroke-width="3"/>${drawn.join('')}</svg>`;
}

/** The label as PNG. */
export async function drawLabel(data: LabelDrawing): Promise<Buffer> {
  const { Resvg } = await import('@resvg/resvg-js');
  return new Resvg(await labelSvg(data), { font: fontOptions() }).render().asPng();
}

/** The label as a PDF of its own size, with its letters as letters. The same data give the same bytes. */
export async function drawLabelPage(data: LabelDrawing): Promise<Buffer> {
  const placed = await laidOut(data);
  const day = new Date(`${data.day}T12:00:00Z`);
  const at = Number.isNaN(day.getTime()) ? new Date(0) : day;
  return writtenPdf(
    {
      size: [WIDTH * POINTS, HEIGHT * POINTS],
      info: { Title: `${data.number} ${data.model}`, CreationDate: at, ModDate: at },
    },
    (pdf) => {
      pdf
        .rect(2 * POINTS, 2 * POINTS, (WIDTH - 4) * POINTS, (HEIGHT - 4) * POINTS)
        .lineWidth(3 * POINTS)
        .stroke('#000');
      for (const { text, x, y, size, weight } of placed)
        pdf
          .font(weight === 'bold' ? 'bold' : 'regular')
          .fontSize(size * POINTS)
          .fillColor('#000')
          .text(text, x * POINTS, y * POINTS, { baseline: 'alphabetic', lineBreak: false });
    },
  );
}
