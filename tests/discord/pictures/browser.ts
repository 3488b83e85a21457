/** A headless Chromium that draws pages, and the web components that draw messages of Discord: what pictures are made with. */
import { spawnSync } from 'node:child_process';
import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { rolldown } from 'rolldown';

const root = join(fileURLToPath(import.meta.url), '../../../..');
export const cache = join(root, 'node_modules', '.cache', 'discord-pictures');
const COMPONENTS = '@skyra/discord-components-core';
const CHROMIUMS = ['chromium', 'chromium-browser', 'google-chrome'];

/** Ends the script with what is to be done. */
function lacking(words: string): never {
  process.stderr.write(`${words}\n`);
  process.exit(1);
}

function findChromium(): string {
  const found = CHROMIUMS.find((name) => spawnSync(name, ['--version']).status === 0);
  return found ?? lacking('A Chromium is needed. On Debian: apt-get install chromium.');
}

/** The web components as one script for a page. */
export async function componentScript(): Promise<string> {
  if (!existsSync(join(cache, 'node_modules', COMPONENTS)))
    lacking(`Messages are drawn by ${COMPONENTS}: npm install --prefix ${cache} ${COMPONENTS}`);
  const bundle = await rolldown({ cwd: cache, input: COMPONENTS, platform: 'browser' });
  const { output } = await bundle.generate({ format: 'iife', minify: true, codeSplitting: false });
  await bundle.close();
  return output[0].code;
}

export interface Browser {
  /** Heights in points of the sections of a page. */
  heights(file: string, width: number): number[];
  picture(file: string, size: { width: number; height: number; scale: string }, to: string): void;
}

export function openBrowser(): Browser {
  const chromium = findChromium();
  const run = (args: readonly string[]): string => {
    const { status, stdout, stderr } = spawnSync(
      chromium,
      [
        '--headless',
        '--no-sandbox',
        '--disable-gpu',
        '--hide-scrollbars',
        '--virtual-time-budget=4000',
        ...args,
      ],
      { encoding: 'utf8', maxBuffer: 1 << 28, timeout: 120_000 },
    );
    if (status !== 0) throw new Error(`${chromium} ended with ${status}: ${stderr}`);
    return stdout;
  };
  return {
    heights: (file, width) => {
      const dom = run([`--window-size=${width},3000`, '--dump-dom', `file://${file}`]);
      const told: unknown = JSON.parse(/<title>(\[[^<]*\])<\/title>/.exec(dom)?.[1] ?? '[]');
      return Array.isArray(told) ? told.map(Number) : [];
    },
    picture: (file, { width, height, scale }, to) => {
      run([
        `--force-device-scale-factor=${scale}`,
        `--window-size=${width},${height}`,
        `--screenshot=${to}`,
        `file://${file}`,
      ]);
    },
  };
}

/** A page that tells the heights of its sections in its title once they are drawn. */
export function writePage(
  file: string,
  { style, sections, script = '' }: { style: string; sections: readonly string[]; script?: string },
): void {
  writeFileSync(
    file,
    `<!doctype html><meta charset="utf-8">
<style>${style}</style>
${sections.map((part) => `<section>${part}</section>`).join('\n')}
<script>${script.replaceAll('</script', '<\\/script')}</script>
<script>addEventListener('load',()=>setTimeout(()=>{document.title=JSON.stringify([...document.querySelectorAll('section')].map((one)=>Math.ceil(one.getBoundingClientRect().height)))},800))</script>`,
  );
}
