/** A reply as a message that Discord takes: a page, its choices, its files. */

import type { Reply } from '../../../commands/framework/reply.ts';
import { backOf, frontOf, hasBack, wholeOf } from '../../../commands/framework/sides.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import type { Message } from '../../../shared/language/message.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import { homeOfChoice } from '../home-command.ts';
import { componentType, DANGER, EPHEMERAL, NO_MENTIONS, PRIMARY, SECONDARY } from './api.ts';
import { customId, type Side } from './custom-id.ts';
import { clip } from './escape.ts';
import { type Embed, type Extra, renderPages } from './render.ts';

interface Button {
  type: typeof componentType.button;
  style: typeof PRIMARY | typeof SECONDARY | typeof DANGER;
  label: string;
  custom_id: string;
  disabled?: boolean;
}
interface Select {
  type: typeof componentType.select;
  custom_id: string;
  placeholder: string;
  options: { label: string; value: string }[];
}
export interface Row {
  type: typeof componentType.row;
  components: (Button | Select)[];
}
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
const LIMIT = { label: 80, entry: 100, entries: 25, rows: 5, buttons: 5, description: 1024 } as const;
/** Longer lists read better as a menu: four rows of them leave one for the pages. */
const MOST_BUTTONS = 20;

/**
 * The custom_id of a choice. An answer takes the place of the message when the choice is a step of what the message is
 * about: then the message is out of date once it is made. Anything else is answered below.
 */
function choiceId({ invoke, subject, token = '' }: Reply['choices'][number], command: string): string {
  const home = homeOfChoice(invoke);
  // Its token is kept in a collective, and which one that is is what is chosen.
  if (home !== null) return customId({ kind: 'home', collective: home });
  const inPlace = subject !== undefined && invoke.command === command;
  return customId({ kind: 'choice', command: invoke.command, inPlace, token });
}

const inRows = (buttons: readonly Button[]): Row[] =>
  Array.from({ length: Math.ceil(buttons.length / LIMIT.buttons) }, (_, index) => ({
    type: componentType.row,
    components: buttons.slice(index * LIMIT.buttons, (index + 1) * LIMIT.buttons),
  }));

const button = (label: string, id: string, { disabled = false, danger = false } = {}): Button => ({
  type: componentType.button,
  style: danger ? DANGER : SECONDARY,
  label: clip(label.trim() || '–', LIMIT.label),
  custom_id: id,
  ...(disabled ? { disabled } : {}),
});

/** Choices as menus, at most `rows` of them. `first`: the number of the first menu in its message. */
function menus(
  offered: Reply['choices'],
  command: string,
  rows: number,
  placeholder: (number: number, count: number) => Message,
  first: number,
): Row[] {
  const count = Math.min(rows, Math.ceil(offered.length / LIMIT.entries));
  return Array.from({ length: count }, (_, index) => ({
    type: componentType.row,
    components: [
      {
        type: componentType.select,
        custom_id: `s|${first + index}`,
        placeholder: render(placeholder(index + 1, count)),
        options: offered.slice(index * LIMIT.entries, (index + 1) * LIMIT.entries).map((choice) => ({
          label: clip(choice.label.trim() || '–', LIMIT.entry),
          value: choiceId(choice, command),
        })),
      },
    ],
  }));
}

/** Rows that buttons take on a phone 400 points wide, by the letters of their labels: counted on pictures of drawn replies. */
function rowsOnPhone(labels: readonly string[]): number {
  let rows = 0;
  let left = 0;
  for (const label of labels) {
    const width = Math.min(PHONE.row, Math.max(PHONE.least, PHONE.frame + PHONE.letter * label.length));
    if (left < width) {
      rows += 1;
      left = PHONE.row;
    }
    left -= width + PHONE.gap;
  }
  return rows;
}
/** In points. */
const PHONE = { row: 280, letter: 8, frame: 32, gap: 8, least: 60 } as const;
/** More answers than this are a list to look through, not a question. */
const MOST_ANSWERS = 6;
/** More rows than this push the question off a phone: a menu has room for more answers. */
const MOST_ROWS = 4;

/** Of answers that do not all fit as buttons, those that do: short ones, in their order. */
const SHORT = { letters: 26, most: 3 } as const;

/**
 * The answers as buttons, or as a menu where they are many or long, with the short ones of a few still as buttons; `more` and what tells of a danger as buttons behind
 * them; what else can be done in a menu below. At most `rows` rows.
 */
function choiceRows({ choices }: Reply, command: string, rows: number, more: readonly Button[]): Row[] {
  const offered = choices.filter(({ token }) => token !== undefined);
  const asides = offered.filter(({ aside }) => aside);
  // One alone takes less room as a button.
  const small = asides.length > 1 ? asides : [];
  const large = small.length ? offered.filter(({ aside }) => !aside) : offered;
  const dangers = large.filter(({ danger }) => danger);
  const answers = large.filter(({ danger }) => !danger);
  const asButton = (choice: (typeof offered)[number]): Button =>
    button(choice.label, choiceId(choice, command), { danger: choice.danger === true });
  const after = [...more, ...dangers.map(asButton)];
  const all = [...answers.map(asButton), ...after];
  const below = menus(small, command, 1, () => say`Something else`, 0);
  const asButtons =
    all.length <= MOST_BUTTONS &&
    answers.every(({ label }) => label.length <= LIMIT.label) &&
    rowsOnPhone(all.map(({ label }) => label)) <= MOST_ROWS;
  if (asButtons) return [...inRows(all), ...below];
  const short = answers.length <= MOST_ANSWERS ? answers.filter(isShort).slice(0, SHORT.most) : [];
  const first = inRows(short.map(asButton));
  const last = inRows(after);
  const left = rows - first.length - last.length - below.length;
  const words = (number: number, count: number) =>
    short.length ? say`Another answer` : count > 1 ? say`Choose (${number} of ${count})` : say`Choose`;
  const rest = answers.filter((choice) => !short.includes(choice));
  return [...first, ...menus(rest, command, left, words, below.length), ...last, ...below];
}

const isShort = ({ label }: Reply['choices'][number]): boolean => label.length <= SHORT.letters;

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
  const long = reply.choices.filter(({ label }) => label.length > LIMIT.entry);
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

const isPicture = (name: string): boolean => /\.(png|jpe?g|gif|webp)$/i.test(name);

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
