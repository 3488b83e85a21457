/** Draws the files of a reply that are not text. The libraries for it are loaded when the first is drawn. */

import { z } from 'zod';
import type { ReplyFile } from '../../commands/framework/reply.ts';
import { handOverPage } from '../../commands/job/hand-over-page.ts';
import { labelDrawing } from '../../commands/job/label.ts';
import { weekChartData } from '../../commands/week/week-picture.ts';
import { boldFont, regularFont } from './fonts.ts';

const photoDrawing = z.object({ png: z.string() });

const chart = () => import('./week-chart.ts');
const page = () => import('./page-pdf.ts');

const drawers: Readonly<Record<string, (data: unknown) => Promise<Buffer>>> = {
  'week-chart': async (data) => (await chart()).drawWeekChart(weekChartData.parse(data)),
  photo: async (data) => Buffer.from(photoDrawing.parse(data).png, 'base64'),
  'label-page': async (data) => (await import('./label.ts')).drawLabelPage(labelDrawing.parse(data)),
  label: async (data) => (await import('./label.ts')).drawLabel(labelDrawing.parse(data)),
  'hand-over-page': async (data) => (await page()).drawHandOverPage(handOverPage.parse(data)),
};

/**
 * The bytes of a file: its text, or what it asks to be drawn. Throws when there is no such drawing, or its data are not what
 * the drawing takes.
 */
export async function drawFile({ name, text, draw }: ReplyFile): Promise<Buffer> {
  if (text !== undefined) return Buffer.from(text);
  const drawer = draw && Object.hasOwn(drawers, draw.kind) ? drawers[draw.kind] : undefined;
  if (!drawer) throw new Error(`${name}: there is no drawing "${draw?.kind ?? ''}"`);
  return drawer(draw?.data);
}

/** Loads all that drawing takes, which otherwise the first picture and the first page do. */
export async function loadDrawing(): Promise<void> {
  regularFont();
  boldFont();
  await Promise.all([
    chart().then(({ chartLibraries }) => chartLibraries()),
    import('./written-pdf.ts').then(({ pageLibrary }) => pageLibrary()),
    page(),
  ]);
}
