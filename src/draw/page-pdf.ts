/** The hand-over page as a PDF: one A4 page, whatever is written on it. */
import type { HandOverPage } from '../../commands/job/hand-over-page.ts';
import { palette } from './palette.ts';
import { type Pdf, writtenPdf } from './written-pdf.ts';

/** A4 in points, and its margins. */
const PAGE = { width: 595.28, height: 841.89, edge: 54 };
const INNER = PAGE.width - 2 * PAGE.edge;
const LABEL = 130;
const FOOTER = 40;
const ROOM = PAGE.height - 2 * PAGE.edge - FOOTER;
/** All sizes are multiplied by a scale from here, the largest at which all of it fits, to where nobody could read it. */
const LARGEST = 1;
const SMALLEST = 0.64;
/** A page holds less than this even at the smallest scale; what is over is cut before anything is measured. */
const MOST_SIGNS = 9000;
const MOST_OF_LINE = 1500;
/** Of facts, and of sections. */
const MOST_PARTS = 10;
/** A line is not cut to less than this. */
const SHORTEST = 60;
/** What a line costs besides its signs. */
const LINE_COST = 60;
/** A word longer than this may be broken anywhere. */
const LONG_WORD = 24;

type Sections = HandOverPage['sections'];

interface Pen {
  y: number;
  /** False while it only measures. */
  inks: boolean;
  /** Heights already measured. */
  known: Map<string, number>;
}

interface Style {
  x: number;
  width: number;
  size: number;
  bold?: boolean;
  colour?: string;
}

/** Writes wrapped text at the pen, or only moves it down. */
function write(
  pdf: Pdf,
  pen: Pen,
  text: string,
  { x, width, size, bold = false, colour = palette.ink }: Style,
): void {
  pdf.font(bold ? 'bold' : 'regular').fontSize(size);
  const options = { width, lineGap: size * 0.18 };
  const key = `${size} ${width} ${bold} ${text}`;
  const height = pen.known.get(key) ?? pdf.heightOfString(text, options);
  pen.known.set(key, height);
  if (pen.inks) pdf.fillColor(colour).text(text, x, pen.y, options);
  pen.y += height;
}

/** The page at a scale; gives how tall it is. */
function compose(
  pdf: Pdf,
  { title, facts, sections }: HandOverPage,
  scale: number,
  { inks, known }: Pick<Pen, 'inks' | 'known'>,
): number {
  const pen: Pen = { y: PAGE.edge, inks, known };
  const whole = { x: PAGE.edge, width: INNER };
  write(pdf, pen, title, { ...whole, size: 17 * scale, bold: true });
  pen.y += 10 * scale;
  for (const { label, value } of facts) {
    const top = pen.y;
    write(pdf, pen, label, { x: PAGE.edge, width: LABEL - 10, size: 10 * scale, colour: palette.muted });
    const below = pen.y;
    pen.y = top;
    write(pdf, pen, value, { x: PAGE.edge + LABEL, width: INNER - LABEL, size: 10 * scale });
    pen.y = Math.max(pen.y, below) + 2 * scale;
  }
  for (const { heading, lines } of sections) {
    pen.y += 12 * scale;
    write(pdf, pen, heading, { ...whole, size: 12.5 * scale, bold: true });
    pen.y += 3 * scale;
    for (const line of lines) {
      const top = pen.y;
      write(pdf, { y: top, inks, known }, '•', { x: PAGE.edge, width: 12, size: 10 * scale });
      write(pdf, pen, line, { x: PAGE.edge + 14, width: INNER - 14, size: 10 * scale });
      pen.y += 2.5 * scale;
    }
  }
  return pen.y - PAGE.edge;
}

const shorten = (text: string, most: number): string => {
  const signs = [...text];
  return signs.length <= most ? text : `${signs.slice(0, most).join('').trimEnd()}…`;
};

const longWord = new RegExp(`\\S{${LONG_WORD}}(?=\\S)`, 'gu');
/** One line of plain text of at most so many signs, in which a long word may be broken (U+200B). */
const clean = (text: string, most: number): string =>
  shorten(text.replace(/[\p{Cc}\p{Cs}\s]+/gu, ' ').trim(), most).replace(longWord, '$&\u200b');

const lengthOf = ({ lines }: Sections[number]): number =>
  lines.reduce((sum, line) => sum + line.length + LINE_COST, 0);

/** The longest section gives way first, so that a short one, such as what is dangerous, stays whole; null when none can. */
function lessOf(sections: Sections, more: string): Sections | null {
  const lengths = sections.map(lengthOf);
  const longest = lengths.indexOf(Math.max(...lengths));
  const own = sections[longest]?.lines.filter((line) => line !== more) ?? [];
  const [first = '', ...others] = own;
  if (!others.length && first.length < SHORTEST) return null;
  return sections.map(({ heading, lines }, index) => {
    if (index !== longest) return { heading, lines };
    const kept = others.length
      ? [first, ...others.slice(0, -1)]
      : [shorten(first, Math.floor(first.length / 2))];
    return { heading, lines: [...kept, more] };
  });
}

/** What fits on one page, and the scale to draw it at. */
function fitted(pdf: Pdf, data: HandOverPage, known: Pen['known']): { data: HandOverPage; scale: number } {
  const measured = { inks: false, known };
  let fits: HandOverPage = {
    ...data,
    title: clean(data.title, 160),
    footer: clean(data.footer, 160),
    more: clean(data.more, 120),
    facts: data.facts
      .slice(0, MOST_PARTS)
      .map(({ label, value }) => ({ label: clean(label, 40), value: clean(value, 120) })),
    sections: data.sections.slice(0, MOST_PARTS).map(({ heading, lines }) => ({
      heading: clean(heading, 60),
      lines: lines.slice(0, MOST_SIGNS / LINE_COST).map((line) => clean(line, MOST_OF_LINE)),
    })),
  };
  const whole = () => fits.sections.reduce((sum, section) => sum + lengthOf(section), 0);
  const cut = (): boolean => {
    const sections = lessOf(fits.sections, fits.more);
    if (sections) fits = { ...fits, sections };
    return sections !== null;
  };
  while (whole() > MOST_SIGNS && cut());
  const holds = (scale: number) => compose(pdf, fits, scale, measured) <= ROOM;
  if (holds(LARGEST)) return { data: fits, scale: LARGEST };
  while (!holds(SMALLEST)) {
    // Nothing is left to cut: smaller than can be read is still better than off the page.
    if (!cut()) return { data: fits, scale: (SMALLEST * ROOM) / compose(pdf, fits, SMALLEST, measured) };
  }
  let [fitting, over] = [SMALLEST, LARGEST];
  for (let turn = 0; turn < 3; turn += 1) {
    const middle = (fitting + over) / 2;
    if (holds(middle)) fitting = middle;
    else over = middle;
  }
  return { data: fits, scale: fitting };
}

/** The same data give the same bytes: the day in the document's record is that of the page. */
export function drawHandOverPage(given: HandOverPage): Promise<Buffer> {
  const day = new Date(`${given.date}T12:00:00Z`);
  const info = { Title: given.title, CreationDate: day, ModDate: day };
  return writtenPdf({ size: 'A4', info }, (pdf) => drawPage(pdf, given));
}

function drawPage(pdf: Pdf, given: HandOverPage): void {
  const known: Pen['known'] = new Map();
  const { data, scale } = fitted(pdf, given, known);
  compose(pdf, data, scale, { inks: true, known });
  const line = PAGE.height - PAGE.edge - FOOTER / 2;
  pdf
    .moveTo(PAGE.edge, line)
    .lineTo(PAGE.width - PAGE.edge, line)
    .lineWidth(0.7)
    .stroke(palette.border);
  write(pdf, { y: line + 6, inks: true, known }, data.footer, {
    x: PAGE.edge,
    width: INNER,
    size: 8.5,
    colour: palette.muted,
  });
  const photos = given.photos ?? [];
  if (photos.length) {
    pdf.addPage({ size: 'A4', margin: 0 });
    const room = (PAGE.height - 2 * PAGE.edge) / photos.length;
    photos.forEach(({ caption, png }, index) => {
      const top = PAGE.edge + index * room;
      write(pdf, { y: top, inks: true, known }, caption, { x: PAGE.edge, width: INNER, size: 10 });
      pdf.image(Buffer.from(png, 'base64'), PAGE.edge, top + 18, { fit: [INNER, room - 36] });
    });
  }
}
