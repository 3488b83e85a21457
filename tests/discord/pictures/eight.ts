/**
 * Eight replies as they look on a phone 400 points wide, dark and light, on Discord, on Matrix and in a terminal: a sheet of
 * pictures for each, and their heights against the aims. Real payloads of a walked tour, in a real browser:
 * `npm run node -- tests/discord/pictures/eight.ts [--out FOLDER]`. By hand only, as `draw.ts`. The frame around Matrix's words is a
 * plain page: clients differ.
 */
import { mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { frontOf, hasBack } from '../../../commands/framework/sides.ts';
import { commands } from '../../../commands/index.ts';
import { renderForMatrix } from '../../../src/surfaces/matrix/render.ts';
import { asSaidHere } from '../../../src/surfaces/matrix/wording.ts';
import { renderFrontAsText } from '../../../src/surfaces/text-render.ts';
import { testBot } from '../../test-bot.ts';
import { componentScript, openBrowser, writePage } from './browser.ts';
import { html } from './markdown.ts';
import { drawMessage, messagesFor } from './message-html.ts';
import { type Said, theTour } from './tour-replies.ts';

const WIDTH = 400;
const COLUMNS = 80;
/** What is drawn, by how its line begins and which of those; aims in points on Discord, and in lines in a terminal. */
const eight = [
  { name: 'a trace step', line: '/trace "dead', at: 0, aim: 520, lines: 16 },
  { name: 'a step at the open phone', line: '/trace answer', at: 2, aim: 520, lines: 16 },
  { name: 'a remedy', line: '/trace answer', at: 4, aim: 520, lines: 16 },
  { name: 'a verdict', line: '/worth trace', at: 0, aim: 480, lines: null },
  { name: 'a verdict, wet', line: '/worth "Tarn', at: 0, aim: 480, lines: null },
  { name: 'one component', line: '/paired', at: 0, aim: 600, lines: null },
  { name: 'the week', line: '/week', at: 0, aim: 700, lines: null },
  { name: 'help', line: '/help', at: 0, aim: 500, lines: null },
] as const;

const themes = {
  dark: { back: '#1a1a1e', fore: '#dcdde0', quote: '#5a5c66' },
  light: { back: '#ffffff', fore: '#1d1f24', quote: '#b4b7bf' },
} as const;

const given = parseArgs({ options: { out: { type: 'string', default: import.meta.dirname } } }).values;
const work = join(given.out, 'work');
mkdirSync(work, { recursive: true });
const browser = openBrowser();
const script = await componentScript();

const said: Said[] = [...theTour(), { by: 'Ines', line: '/help', reply: testBot().say('/help') }];
const picked = eight.map(({ line, at, ...rest }) => {
  const one = said.filter((each) => each.line.startsWith(line))[at];
  if (!one) throw new Error(`the tour does not say ${line}`);
  return { ...rest, one };
});

const names = commands.map(({ name }) => name);
const onMatrix = ({ reply }: Said): string =>
  renderForMatrix(asSaidHere(frontOf(reply), '!th', names), [], { hasMore: hasBack(reply) })
    .map((drawn) => drawn.html)
    .join('');
const inTerminal = ({ reply }: Said): string => renderFrontAsText(reply, { width: COLUMNS, colour: false });

type Theme = keyof typeof themes;
const surfaces: Record<
  string,
  { sections: (theme: Theme) => Promise<string[]>; script: string; width: number }
> = {
  discord: {
    script,
    width: WIDTH,
    sections: async (theme) =>
      Promise.all(
        picked.map(async ({ one }) => {
          const [first] = await messagesFor(one);
          if (!first) throw new Error(`nothing is sent for ${one.line}`);
          return drawMessage(first, one, theme === 'light');
        }),
      ),
  },
  matrix: {
    script: '',
    width: WIDTH,
    sections: async () => picked.map(({ one }) => `<div class="words">${onMatrix(one)}</div>`),
  },
  terminal: {
    script: '',
    width: 680,
    sections: async () => picked.map(({ one }) => `<pre>${html(inTerminal(one))}</pre>`),
  },
};

const styleOf = (theme: Theme, width: number): string => {
  const { back, fore, quote } = themes[theme];
  return `body{margin:0;background:${back};color:${fore};font:16px/22px 'DejaVu Sans',sans-serif;
display:grid;grid-template-columns:repeat(4,${width}px);gap:16px;align-items:start;overflow:hidden}
section{width:${width}px}.words{padding:8px 16px}p,ul,ol,blockquote{margin:4px 0}blockquote{border-left:3px solid ${quote};padding-left:8px}
ul,ol{padding-left:24px}table{font-size:13px}pre{margin:8px;font:13px/17px 'DejaVu Sans Mono',monospace}`;
};

const lineCount = ({ reply }: Said): number =>
  renderFrontAsText(reply, { width: COLUMNS, colour: false }).split('\n').length;

for (const [surface, { sections, script: own, width }] of Object.entries(surfaces)) {
  for (const theme of ['dark', 'light'] as const) {
    const file = join(work, `${surface}-${theme}.html`);
    const total = width * 4 + 16 * 3;
    writePage(file, { style: styleOf(theme, width), script: own, sections: await sections(theme) });
    const heights = browser.heights(file, total);
    const rows = [heights.slice(0, 4), heights.slice(4)].map((row) => Math.max(...row));
    const height = rows.reduce((sum, row) => sum + row + 16, 0);
    const picture = join(given.out, `${surface}-${theme}.png`);
    browser.picture(file, { width: total, height, scale: '1' }, picture);
    process.stdout.write(`${picture}\n`);
    if (theme === 'light') continue;
    for (const [index, { name, aim, lines, one }] of picked.entries()) {
      const told =
        surface === 'terminal'
          ? `${lineCount(one)} lines${lines ? ` (aim ${lines})` : ''}`
          : `${heights[index]} px${surface === 'discord' ? ` (aim ${aim})` : ''}`;
      process.stdout.write(`  ${name.padEnd(26)} ${told}\n`);
    }
  }
}
rmSync(work, { recursive: true });
