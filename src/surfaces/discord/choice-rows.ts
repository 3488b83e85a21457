/** The choices of a reply as rows of buttons and menus below its message. Pure. */
import type { Reply } from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import { homeOfChoice } from '../home-command.ts';
import { componentType, DANGER, PRIMARY, SECONDARY } from './api.ts';
import { customId } from './custom-id.ts';
import { clip } from './escape.ts';

export interface Button {
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
  /** How many can be chosen; one when not given. */
  min_values?: number;
  max_values?: number;
  options: { label: string; value: string }[];
}
export interface Row {
  type: typeof componentType.row;
  components: (Button | Select)[];
}

/** Longer words a menu would cut. */
export const LONGEST_ENTRY = 100;
/** Discord's limits ("Component Reference"). */
const LIMIT = { label: 80, entry: LONGEST_ENTRY, entries: 25, placeholder: 150, buttons: 5 } as const;
/** Longer lists read better as a menu: four rows of them leave one for the pages. */
const MOST_BUTTONS = 20;

/**
 * The custom_id of a choice. An answer takes the place of the message when the choice is a step of what the message is
 * about: then the message is out of date once it is made. Anything else is answered below.
 */
function choiceId({ invoke, subject, fill, token = '' }: Reply['choices'][number], command: string): string {
  if (fill !== undefined) return customId({ kind: 'fill', option: fill, token });
  const home = homeOfChoice(invoke);
  // Its token is kept in a collective, and which one that is is what is chosen.
  if (home !== null) return customId({ kind: 'home', collective: home });
  const inPlace = subject !== undefined && invoke.command === command;
  return customId({ kind: 'choice', command: invoke.command, inPlace, token });
}

export const inRows = (buttons: readonly Button[]): Row[] =>
  Array.from({ length: Math.ceil(buttons.length / LIMIT.buttons) }, (_, index) => ({
    type: componentType.row,
    components: buttons.slice(index * LIMIT.buttons, (index + 1) * LIMIT.buttons),
  }));

export const button = (
  label: string,
  id: string,
  { disabled = false, danger = false, main = false } = {},
): Button => ({
  type: componentType.button,
  style: danger ? DANGER : main ? PRIMARY : SECONDARY,
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
/** Of answers that do not all fit as buttons, those that do: short ones, in their order. */
const SHORT = { letters: 26, most: 3 } as const;
const isShort = ({ label }: Reply['choices'][number]): boolean => label.length <= SHORT.letters;
/** More rows than this push the question off a phone: a menu has room for more answers. */
const MOST_ROWS = 4;

/**
 * The answers as buttons, or as a menu where they are many or long (of a few the short ones stay buttons); `more` and what tells of a danger as buttons behind
 * them; what else can be done in a menu below. At most `rows` rows.
 */
export function choiceRows(
  { choices }: Reply,
  command: string,
  rows: number,
  more: readonly Button[],
): Row[] {
  const offered = choices.filter(({ token }) => token !== undefined);
  const together = groupsIn(offered);
  const taken = new Set(together.flatMap(({ entries }) => entries));
  const others = offered.filter((choice) => !taken.has(choice));
  const lists = multiMenus(together, command, rows - (others.length || more.length ? 1 : 0));
  const singles = singleRows(others, command, rows - lists.length, more, lists.length);
  const [first, ...behind] = singles;
  return first ? [first, ...lists, ...behind] : lists;
}

/** Choices that can be taken several at once, by what they answer. */
function groupsIn(offered: Reply['choices']): { title: string; entries: Reply['choices'] }[] {
  const titles = [...new Set(offered.flatMap(({ several }) => (several ? [several.title] : [])))];
  return titles
    .map((title) => ({ title, entries: offered.filter(({ several }) => several?.title === title) }))
    .filter(({ entries }) => entries.length > 1);
}

/** A menu for each group, of which several entries can be chosen. */
function multiMenus(groups: ReturnType<typeof groupsIn>, command: string, rows: number): Row[] {
  const parts = groups.flatMap(({ title, entries }) =>
    Array.from({ length: Math.ceil(entries.length / LIMIT.entries) }, (_, index) => ({
      title,
      entries: entries.slice(index * LIMIT.entries, (index + 1) * LIMIT.entries),
    })),
  );
  return parts.slice(0, Math.max(0, rows)).map(({ title, entries }, index) => ({
    type: componentType.row,
    components: [
      {
        type: componentType.select,
        custom_id: `s|${index}`,
        placeholder: clip(title, LIMIT.placeholder),
        min_values: 1,
        max_values: entries.length,
        options: entries.map((choice) => ({
          label: clip((choice.several?.label ?? choice.label).trim() || '–', LIMIT.entry),
          value: choiceId(choice, command),
        })),
      },
    ],
  }));
}

/** Choices of which one is taken. `from`: the number of the first menu among all of the message. */
function singleRows(
  offered: Reply['choices'],
  command: string,
  rows: number,
  more: readonly Button[],
  from: number,
): Row[] {
  const asides = offered.filter(({ aside }) => aside);
  // One alone takes less room as a button.
  const small = asides.length > 1 ? asides : [];
  const large = small.length ? offered.filter(({ aside }) => !aside) : offered;
  const dangers = large.filter(({ danger }) => danger);
  const answers = large.filter(({ danger }) => !danger);
  const asButton = (choice: (typeof offered)[number]): Button =>
    button(choice.label, choiceId(choice, command), {
      danger: choice.danger === true,
      main: choice.main === true,
    });
  const after = [...more, ...dangers.map(asButton)];
  const all = [...answers.map(asButton), ...after];
  const below = menus(small, command, 1, () => say`Something else`, from);
  const asButtons =
    all.length <= MOST_BUTTONS &&
    answers.every(({ label }) => label.length <= LIMIT.label) &&
    rowsOnPhone(all.map(({ label }) => label)) <= MOST_ROWS;
  if (asButtons) return [...inRows(all), ...below];
  const short = answers.length <= MOST_ANSWERS ? answers.filter(isShort).slice(0, SHORT.most) : [];
  const buttons = inRows([...short.map(asButton), ...after]);
  const left = rows - buttons.length - below.length;
  const words = (number: number, count: number) =>
    short.length ? say`Another answer` : count > 1 ? say`Choose (${number} of ${count})` : say`Choose`;
  const rest = answers.filter((choice) => !short.includes(choice));
  const lists = menus(rest, command, left, words, from + below.length);
  return short.length ? [...buttons, ...lists, ...below] : [...lists, ...buttons, ...below];
}
