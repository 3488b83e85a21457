/** A PDF with the fonts of pages and pictures in it, written by what draws on it. */
import type PdfDocument from 'pdfkit';
import { boldFont, regularFont } from './fonts.ts';

export type Pdf = InstanceType<typeof PdfDocument>;

let library: Promise<{ default: typeof PdfDocument }> | undefined;

/** What writes pages, loaded once: after that its files are no longer needed. */
export function pageLibrary(): Promise<{ default: typeof PdfDocument }> {
  library ??= import('pdfkit');
  return library;
}

/** `regular` and `bold` are its fonts. */
export async function writtenPdf(
  options: Pick<PDFKit.PDFDocumentOptions, 'size' | 'info'>,
  draw: (pdf: Pdf) => void,
): Promise<Buffer> {
  const { default: Document } = await pageLibrary();
  const pdf = new Document({
    ...options,
    margin: 0,
    lang: 'en',
    displayTitle: true,
    font: regularFont(),
  });
  const parts: Buffer[] = [];
  pdf.on('data', (part: Buffer) => parts.push(part));
  const done = new Promise<void>((resolve, reject) => {
    pdf.on('end', resolve);
    pdf.on('error', reject);
  });
  pdf.registerFont('regular', regularFont()).registerFont('bold', boldFont());
  draw(pdf);
  pdf.end();
  await done;
  return Buffer.concat(parts);
}
