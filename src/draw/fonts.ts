/** The fonts of pictures and pages: DejaVu Sans, from its package, so that they look the same on every machine. */
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);

export const FONT_FAMILY = 'DejaVu Sans';
export const regularFont = (): string => require.resolve('dejavu-fonts-ttf/ttf/DejaVuSans.ttf');
export const boldFont = (): string => require.resolve('dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf');
