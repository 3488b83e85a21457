/** Draws the files of a reply that are not text. The libraries for it are loaded when the first is drawn. */

import type { ReplyFile } from '../../commands/framework/reply.ts';
import { handOverPage } from '../../commands/job/hand-over-page.ts';
import { weekChartData } from '../../commands/week/reply.ts';

const drawers: Readonly<Record<string, (data: unknown) => Promise<Buffer>>> = {
  'week-chart': async (data) => (await import('./week-chart.ts')).drawWeekChart(weekChartData.parse(data)),
  'hand-over-page': async (data) =>
    (await import('./page-pdf.ts')).drawHandOverPage(handOverPage.parse(data)),
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
