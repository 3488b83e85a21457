/** The fonts of pictures and pages: DejaVu Sans, from its package, so that they look the same on every machine. */
import { existsSync, openSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);

export const FONT_FAMILY = 'DejaVu Sans';
const held = new Map<string, string>();

/**
 * A path at which the file stays to be read, also when an update has removed it since: on Linux the file is held open, and
 * found under this process's own. The engine that draws pictures takes no fonts but by their paths.
 */
function hold(name: string, find: () => string): string {
  const known = held.get(name);
  if (known !== undefined) return known;
  const file = find();
  const open = process.platform === 'linux' ? `/proc/${process.pid}/fd/${openSync(file, 'r')}` : file;
  const path = existsSync(open) ? open : file;
  held.set(name, path);
  return path;
}

export const regularFont = (): string =>
  hold('regular', () => require.resolve('dejavu-fonts-ttf/ttf/DejaVuSans.ttf'));
export const boldFont = (): string =>
  hold('bold', () => require.resolve('dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf'));
