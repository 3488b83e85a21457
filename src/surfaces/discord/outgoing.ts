/** A reply as a message that Discord takes: a page, its choices, its files. */

import type { Reply } from '../../../commands/framework/reply.ts';
import { backOf, frontOf, hasBack, wholeOf } from '../../../commands/framework/sides.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import { EPHEMERAL, NO_MENTIONS, PRIMARY } from './api.ts';
import { type Button, button, choiceRows, inRows, LONGEST_ENTRY, type Row } from './choice-rows.ts';
import { customId, type Side } from './custom-id.ts';
import { clip } from './escape.ts';
import { type Embed, type Extra, renderPages } from './render.ts';

export interface AttachedFile {
  name: string;
  data: Buffer;
  /** Alternative text. */
  description: string;
}
/** The body of a message, whichever way it is sent. */
interface Body {
  content: string;
  embeds: Embed[];
  components: Row[];
  allowed_mentions: typeof NO_MENTIONS;
  attachments?: { id: string; filename: string; description?: string }[];
  flags?: number;
}
export interface OutgoingMessage {
  body: Body;
  files: AttachedFile[];
}

/** Discord's limits ("Component Reference"). */
const LIMIT = { rows: 5, description: 1024 } as const;

export interface Shown {
  /** The command that the reply answers. */
  command: string;
  /**
   * The request it answers, so that its pages can be turned and more can be asked for; null when it is not kept: then both
   * sides and all pages are sent at once.
   */
  request: string | null;
  /** The front when not given. */
  side?: Side;
  /** The custom_id of a button that opens the refused form again. */
  again?: string;
}

/** Opens the form that was refused, filled in as it was. */
const againButton = ({ again }: Shown): Button[] =>
  again === undefined ? [] : [{ ...button(render(say`Fill it in again`), again), style: PRIMARY }];

/** Asks for what stands behind a reply, where anything does. */
function moreButton(reply: Reply, { command, request, side = 'front' }: Shown): Button[] {
  if (request === null || side === 'back' || !hasBack(reply)) return [];
  return [button(render(say`More`), customId({ kind: 'more', command, request }))];
}

/** What is drawn of a reply. */
function sideOf(reply: Reply, { request, side = 'front' }: Shown): Reply {
  if (request === null) return wholeOf(reply);
  return side === 'back' ? (backOf(reply) ?? wholeOf(reply)) : frontOf(reply);
}

function pageRow(page: number, pages: number, { command, request, side = 'front' }: Shown): Row[] {
  if (pages < 2 || request === null) return [];
  const to = (target: number) => customId({ kind: 'page', command, side, page: target, request });
  const last = pages - 1;
  return inRows([
    // A button that leads nowhere needs an id of its own all the same.
    button(render(say`Previous`), page > 0 ? to(page - 1) : `${to(page)}|first`, { disabled: page === 0 }),
    button(render(say`Next`), page < last ? to(page + 1) : `${to(page)}|last`, { disabled: page === last }),
  ]);
}

/** Choices whose words a menu would cut are told whole in the answer. */
function withLongChoices(reply: Reply): Reply {
  const long = reply.choices.filter(({ label }) => label.length > LONGEST_ENTRY);
  return long.length
    ? {
        ...reply,
        blocks: [
          ...reply.blocks,
          {
            kind: 'steps',
            heading: render(say`To choose from`),
            ordered: false,
            steps: long.map(({ label }) => label),
          },
        ],
      }
    : reply;
}

export const isPicture = (name: string): boolean => /\.(png|jpe?g|gif|webp)$/i.test(name);

/** All messages of a reply: one for each page, each with its choices. The files are on the first. */
export const messagesOf = (
  reply: Reply,
  files: readonly AttachedFile[],
  shown: Shown,
  extra: Omit<Extra, 'pictures'> = {},
): OutgoingMessage[] => withLocale(reply.language, () => allMessages(reply, files, shown, extra));

function allMessages(
  reply: Reply,
  files: readonly AttachedFile[],
  shown: Shown,
  extra: Omit<Extra, 'pictures'>,
): OutgoingMessage[] {
  const pictures = files.map(({ name }) => name).filter(isPicture);
  const shownSide = sideOf(reply, shown);
  const pages = renderPages(withLongChoices(shownSide), { ...extra, pictures });
  const more = [...againButton(shown), ...moreButton(reply, shown)];
  return pages.map(({ content, embeds }, index) => {
    const turning = pageRow(index, pages.length, shown);
    // Where pages cannot be turned all are sent, and the choices stand below the last.
    const offering = shown.request !== null || index === pages.length - 1;
    const own = index === 0 ? files : [];
    return {
      body: {
        content,
        embeds,
        components: [
          ...(offering ? choiceRows(shownSide, shown.command, LIMIT.rows - turning.length, more) : []),
          ...turning,
        ],
        allowed_mentions: NO_MENTIONS,
        ...(own.length
          ? {
              attachments: own.map(({ name, description }, at) => ({
                id: String(at),
                filename: name,
                description: clip(description, LIMIT.description),
              })),
            }
          : {}),
      },
      files: [...own],
    };
  });
}

/** The same message for its asker's eyes only. */
export const onlyForAsker = ({ body, files }: OutgoingMessage): OutgoingMessage => ({
  body: { ...body, flags: EPHEMERAL },
  files,
});

/** A message of a line of the surface's own words. */
export const plainMessage = (text: string): OutgoingMessage => ({
  body: { content: text, embeds: [], components: [], allowed_mentions: NO_MENTIONS },
  files: [],
});
