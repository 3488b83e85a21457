/**
 * Draws the replies of the tour as a Discord client would show them, for people to look at:
 * `npm run node -- tests/discord/pictures/draw.ts [--out FOLDER] [--only PART-OF-A-COMMAND] [--scale 2] [--heights]`. By hand only: it needs a
 * Chromium, and the web components that draw messages, and says so where they are missing.
 */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { cache, componentScript, openBrowser, writePage } from './browser.ts';
import { drawMessage, messagesFor } from './message-html.ts';
import { theTour } from './tour-replies.ts';

/** A phone held upright, and a window on a desk. */
const widths = { phone: 400, desk: 720 } as const;

const given = parseArgs({
  options: {
    out: { type: 'string', default: join(cache, 'out') },
    only: { type: 'string', default: '' },
    scale: { type: 'string', default: '1' },
    heights: { type: 'boolean', default: false },
  },
}).values;
const browser = openBrowser();
const script = await componentScript();
mkdirSync(given.out, { recursive: true });

const said = theTour()
  .map((one, index) => ({ one, index }))
  .filter(({ one }) => one.line.includes(given.only));
const drawn: { name: string; part: string }[] = [];
for (const { one, index } of said) {
  for (const [at, message] of (await messagesFor(one)).entries()) {
    const slug = one.line.replace(/[^\w]+/g, '-').slice(1, 30);
    const name = `${String(index + 1).padStart(2, '0')}-${slug}${at ? `-page-${at + 1}` : ''}`;
    drawn.push({ name, part: drawMessage(message, one) });
  }
}
for (const [place, width] of Object.entries(widths)) {
  const style = `body{margin:0;background:#1a1a1e;width:${width}px;overflow:hidden}section{width:${width}px}`;
  const file = join(given.out, `${place}.html`);
  writePage(file, { style, script, sections: drawn.map(({ part }) => part) });
  const heights = browser.heights(file, width);
  for (const [index, { name, part }] of drawn.entries()) {
    const height = heights[index] || 800;
    if (given.heights) {
      if (place === 'phone') process.stdout.write(`${String(height).padStart(5)} px  ${name}\n`);
      continue;
    }
    const single = join(given.out, `${place}-one.html`);
    const picture = join(given.out, `${place}-${name}.png`);
    writePage(single, { style, script, sections: [part] });
    browser.picture(single, { width, height, scale: given.scale }, picture);
    process.stdout.write(`${picture}\n`);
  }
}
