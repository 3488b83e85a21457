/** Messages as Discord gets them, as the elements that draw them. */

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
import { drawMarkdown, html } from './markdown.ts';
import type { Said } from './tour-replies.ts';

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

export function drawMessage({ body, files }: OutgoingMessage, { by, line }: Said, light = false): string {
  const [command = ''] = line.split(' ');
  const others = files.filter(({ name }) => !/\.png$/.test(name));
  return `<discord-messages${light ? ' light-theme' : ''}><discord-message author="Thirdhand" bot avatar="${AVATAR}" timestamp="09:00">
<discord-command slot="reply" author="${html(by)}" command="${html(command)}"></discord-command>
${drawMarkdown(body.content, false)}
${body.embeds.map((embed) => drawEmbed(embed, files)).join('\n')}
${others.length ? `<discord-attachments slot="attachments">${others.map(({ name, data }) => `<discord-file-attachment name="${html(name)}" bytes="${data.length}" bytes-unit="B"></discord-file-attachment>`).join('')}</discord-attachments>` : ''}
${body.components.length ? `<discord-attachments slot="components">${body.components.map(drawRow).join('')}</discord-attachments>` : ''}
</discord-message></discord-messages>`;
}

/** The messages of a reply, as the bot would send them. */
export async function messagesFor({ line, reply }: Said): Promise<OutgoingMessage[]> {
  const { files, notes } = await makeFiles(reply, drawFile, 10 * 1024 * 1024, String);
  const choices = reply.choices.map((choice, at) => ({ ...choice, token: choice.token ?? String(at) }));
  const command = /^\/(\S+)/.exec(line)?.[1] ?? 'help';
  return messagesOf({ ...reply, choices }, files, { command, request: '1' }, { notes });
}
