/**
 * The screen of the tour that the README shows: a command with the whole of what it answers. `npm run node
 * tests/terminal/readme-screen.ts` writes it anew, after a change of what the bot says.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const readmeFile = fileURLToPath(new URL('../../README.md', import.meta.url));
/** A day on which the tour says what the README shows. */
export const TOUR_DAY = '2026-11-27T09:00';

const screen = /^```\n((?:Ines|Wren|Bram) > [\s\S]*?)\n```$/gm;
const readme = (): string => readFileSync(readmeFile, 'utf8');

/** What the README shows. */
export const screensShown = (): string[] => [...readme().matchAll(screen)].map(([, shown = '']) => shown);

/** What the tour answers to the command on the first line of a screen, with that line; empty where it is not said. */
export function saidIn(tour: string, shown: string): string {
  const lines = tour.split('\n');
  const from = lines.indexOf(shown.split('\n')[0] ?? '');
  if (from < 0) return '';
  const until = lines.findIndex((line, at) => at > from && /^─+$|^(Ines|Wren|Bram) > /.test(line));
  return lines
    .slice(from, until < 0 ? undefined : until)
    .join('\n')
    .trimEnd();
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const { execFileSync } = await import('node:child_process');
  const program = fileURLToPath(new URL('../../src/thirdhand.cjs', import.meta.url));
  const { build } = await import('../../src/build.ts');
  await build({ ifStale: true });
  const tour = execFileSync(process.execPath, [program, '--tour', '--now', TOUR_DAY], { encoding: 'utf8' });
  writeFileSync(
    readmeFile,
    readme().replace(screen, (_, shown: string) => `\`\`\`\n${saidIn(tour, shown)}\n\`\`\``),
  );
}
