/**
 * Draws the replies of the tour as a Discord client would show them, for people to look at:
 * `npm run node -- tests/discord/pictures/draw.ts [--out FOLDER] [--only PART-OF-A-COMMAND] [--scale 2] [--heights]`. By hand only: it needs a
 * Chromium, and the web components that draw messages, and says so where they are missing.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { rolldown } from 'rolldown';
import type { Reply } from '../../../commands/framework/reply.ts';
import { openDatabase } from '../../../shared/store/index.ts';
import { drawFile } from '../../../src/draw/draw-file.ts';
import { DANGER, PRIMARY, SECONDARY } from '../../../src/surfaces/discord/api.ts';
import type { Row } from '../../../src/surfaces/discord/choice-rows.ts';
import { makeFiles } from '../../../src/surfaces/discord/files.ts';
import {
  type AttachedFile,
  messagesOf,
  type OutgoingMessage,
} from '../../../src/surfaces/discord/outgoing.ts';
import type { Embed } from '../../../src/surfaces/discord/render.ts';
import { DEMO_COLLECTIVE, DEMO_ZONE, fillDemo } from '../../../src/surfaces/terminal/demo.ts';
import { createSession } from '../../../src/surfaces/terminal/session.ts';
import { playTour } from '../../../src/surfaces/terminal/tour.ts';
import { testSealer } from '../../sealer.ts';
import { knowledge } from '../../test-bot.ts';
import { drawMarkdown, html } from './markdown.ts';

const root = join(fileURLToPath(import.meta.url), '../../../..');
const cache = join(root, 'node_modules', '.cache', 'discord-pictures');
/** A phone held upright, and a window on a desk. */
const widths = { phone: 400, desk: 720 } as const;
const COMPONENTS = '@skyra/discord-components-core';

/** Ends the script with what is to be done. */
function lacking(words: string): never {
  process.stderr.write(`${words}\n`);
  process.exit(1);
}

function findChromium(): string {
  const found = ['chromium', 'chromium-browser', 'google-chrome'].find(
    (name) => spawnSync(name, ['--version']).status === 0,
  );
  return found ?? lacking('A Chromium is needed. On Debian: apt-get install chromium.');
}

/** The web components as one script for a page. */
async function componentScript(): Promise<string> {
  if (!existsSync(join(cache, 'node_modules', COMPONENTS)))
    lacking(`Messages are drawn by ${COMPONENTS}: npm install --prefix ${cache} ${COMPONENTS}`);
  const bundle = await rolldown({ cwd: cache, input: COMPONENTS, platform: 'browser' });
  const { output } = await bundle.generate({ format: 'iife', minify: true, codeSplitting: false });
  await bundle.close();
  return output[0].code;
}

interface Said {
  by: string;
  line: string;
  reply: Reply;
}

/** Everything that is said in the tour. */
function theTour(): Said[] {
  const said: Said[] = [];
  const database = openDatabase(':memory:', testSealer);
  database.collectives.create(DEMO_COLLECTIVE);
  const now = new Date('2026-03-02T09:00:00Z');
  const session = createSession({
    database,
    knowledge: knowledge(),
    collective: DEMO_COLLECTIVE,
    persona: { name: 'Ines', role: 'steward' },
    direct: false,
    clock: () => now,
    log: (id, error) => process.stderr.write(`${id} ${String(error)}\n`),
  });
  fillDemo(session, now);
  playTour({
    session,
    knowledge: knowledge(),
    zone: DEMO_ZONE,
    narrate: () => undefined,
    whole: true,
    show: (line, reply) => said.push({ by: session.persona.name, line, reply }),
  });
  database.close();
  return said;
}

function drawEmbed({ title = '', description, color, footer, image }: Embed, files: readonly AttachedFile[]) {
  const name = image?.url.replace('attachment://', '');
  const file = files.find((one) => one.name === name);
  const picture = file ? ` image="data:image/png;base64,${file.data.toString('base64')}"` : '';
  const shown = title.replace(/\\(.)/g, '$1');
  return `<discord-embed slot="embeds" color="#${color.toString(16).padStart(6, '0')}" embed-title="${html(shown)}"${picture}>
${description === undefined ? '' : `<discord-embed-description slot="description">${drawMarkdown(description, true)}</discord-embed-description>`}
${footer ? `<discord-embed-footer slot="footer">${html(footer.text)}</discord-embed-footer>` : ''}</discord-embed>`;
}

const buttonTypes = { [PRIMARY]: 'primary', [SECONDARY]: 'secondary', [DANGER]: 'destructive' } as const;
const drawRow = ({ components }: Row): string =>
  `<discord-action-row>${components
    .map((part) =>
      'label' in part
        ? `<discord-button type="${buttonTypes[part.style]}"${part.disabled ? ' disabled' : ''}>${html(part.label)}</discord-button>`
        : `<discord-string-select-menu placeholder="${html(part.placeholder)}"></discord-string-select-menu>`,
    )
    .join('')}</discord-action-row>`;

const AVATAR = `data:image/svg+xml,${encodeURIComponent(
  '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40"><rect width="40" height="40" fill="#3d6b5c"/><rect x="13" y="7" width="14" height="26" rx="3" fill="none" stroke="#fff" stroke-width="2.5"/></svg>',
)}`;

function drawMessage({ body, files }: OutgoingMessage, { by, line }: Said): string {
  const [command = ''] = line.split(' ');
  const others = files.filter(({ name }) => !/\.png$/.test(name));
  return `<discord-messages><discord-message author="Thirdhand" bot avatar="${AVATAR}" timestamp="09:00">
<discord-command slot="reply" author="${html(by)}" command="${html(command)}"></discord-command>
${drawMarkdown(body.content, false)}
${body.embeds.map((embed) => drawEmbed(embed, files)).join('\n')}
${others.length ? `<discord-attachments slot="attachments">${others.map(({ name, data }) => `<discord-file-attachment name="${html(name)}" bytes="${data.length}" bytes-unit="B"></discord-file-attachment>`).join('')}</discord-attachments>` : ''}
${body.components.length ? `<discord-attachments slot="components">${body.components.map(drawRow).join('')}</discord-attachments>` : ''}
</discord-message></discord-messages>`;
}

/** A page that tells the heights of its parts in its title once they are drawn. */
const page = (
  script: string,
  parts: readonly string[],
  width: number,
): string => `<!doctype html><meta charset="utf-8">
<style>body{margin:0;background:#1a1a1e;width:${width}px;overflow:hidden}section{width:${width}px}</style>
${parts.map((part) => `<section>${part}</section>`).join('\n')}
<script>${script.replaceAll('</script', '<\\/script')}</script>
<script>addEventListener('load',()=>setTimeout(()=>{document.title=JSON.stringify([...document.querySelectorAll('section')].map((one)=>Math.ceil(one.getBoundingClientRect().height)))},800))</script>`;

const given = parseArgs({
  options: {
    out: { type: 'string', default: join(cache, 'out') },
    only: { type: 'string', default: '' },
    scale: { type: 'string', default: '1' },
    heights: { type: 'boolean', default: false },
  },
}).values;
const chromium = findChromium();
const script = await componentScript();
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
mkdirSync(given.out, { recursive: true });

const said = theTour()
  .map((one, index) => ({ one, index }))
  .filter(({ one }) => one.line.includes(given.only));
const drawn: { name: string; part: string }[] = [];
for (const { one, index } of said) {
  const { files, notes } = await makeFiles(one.reply, drawFile, 10 * 1024 * 1024, String);
  const choices = one.reply.choices.map((choice, at) => ({ ...choice, token: choice.token ?? String(at) }));
  const command = /^\/(\S+)/.exec(one.line)?.[1] ?? 'help';
  const messages = messagesOf({ ...one.reply, choices }, files, { command, request: '1' }, { notes });
  for (const [at, message] of messages.entries()) {
    const slug = one.line.replace(/[^\w]+/g, '-').slice(1, 30);
    const name = `${String(index + 1).padStart(2, '0')}-${slug}${at ? `-page-${at + 1}` : ''}`;
    drawn.push({ name, part: drawMessage(message, one) });
  }
}
for (const [place, width] of Object.entries(widths)) {
  const file = join(given.out, `${place}.html`);
  writeFileSync(
    file,
    page(
      script,
      drawn.map(({ part }) => part),
      width,
    ),
  );
  const heights: unknown[] = JSON.parse(
    /<title>(\[[^<]*\])<\/title>/.exec(
      run([`--window-size=${width},3000`, '--dump-dom', `file://${file}`]),
    )?.[1] ?? '[]',
  );
  for (const [index, { name, part }] of drawn.entries()) {
    if (given.heights) {
      if (place === 'phone') process.stdout.write(`${String(heights[index]).padStart(5)} px  ${name}\n`);
      continue;
    }
    const single = join(given.out, `${place}-one.html`);
    const picture = join(given.out, `${place}-${name}.png`);
    writeFileSync(single, page(script, [part], width));
    run([
      `--force-device-scale-factor=${given.scale}`,
      `--window-size=${width},${Number(heights[index]) || 800}`,
      `--screenshot=${picture}`,
      `file://${single}`,
    ]);
    process.stdout.write(`${picture}\n`);
  }
}
