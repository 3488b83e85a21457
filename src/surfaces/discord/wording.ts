/**
 * Replies speak of `/trace dead model:"Orrin K3"`; on Discord that is typed as `/trace start` with `symptoms` and `model` filled in.
 * Where the id of the registered command is known, it is drawn as a mention that opens it. Source: Discord's developer
 * documentation, "Message Formatting" (slash commands). Pure.
 */
import type { Command } from '../../../commands/framework/command.ts';
import type { Block, Reply } from '../../../commands/framework/reply.ts';
import { mentionOf, withoutMentions } from './escape.ts';
import { instantsDrawn, instantsInWords } from './instants.ts';
import { commandFinder, type TypedCommand } from './typed-commands.ts';

/** The id under which Discord has a command; undefined where that is not known. */
type IdOfCommand = (name: string) => string | undefined;

/** As it is listed: a command of several things has an entry for each. */
function pathOf({ name, actions }: Command, action: string): string {
  const alone = Object.keys(actions).length === 1 && Object.hasOwn(actions, '');
  return alone ? name : `${name} ${action || name}`;
}

const givenIn = ({ given }: TypedCommand): string =>
  given.map(({ option, value }) => `${option}:${value ? ` ${value}` : ''}`).join(' ');

/** Rewrites the texts of replies, for where these ids are known. */
export type Wording = (reply: Reply, idOf: IdOfCommand) => Reply;

/** `bare`: the command alone is spoken of, without what it is to do. */
type DrawPath = (path: string, name: string, bare: boolean) => string;

/** Rewrites the replies of a bot with these commands. */
export function wordingOf(commands: readonly Command[]): Wording {
  const find = commandFinder(commands);
  const rewritten = (text: string, draw: DrawPath): string => {
    const own = withoutMentions(text);
    let made = '';
    let at = 0;
    for (const one of find(own)) {
      if (one.from < at) continue;
      const bare = own.slice(one.from, one.to) === `/${one.command.name}`;
      const drawn = draw(pathOf(one.command, one.action), one.command.name, bare);
      made += `${own.slice(at, one.from)}${[drawn, givenIn(one)].filter(Boolean).join(' ')}`;
      at = one.to;
    }
    return made + own.slice(at);
  };
  const plain = (text: string): string =>
    rewritten(instantsInWords(text), (path, name, bare) => `/${bare ? name : path}`);
  return (reply, idOf) => {
    const linked = (text: string): string =>
      rewritten(instantsDrawn(text), (path, name) => {
        const id = idOf(name);
        return id === undefined ? `/${path}` : mentionOf(path, id);
      });
    return inReply(reply, plain, linked);
  };
}

/** A name in a list of commands stands for all that the command does. */
const isName = (text: string): boolean => /^\/[a-z-]+$/.test(text);

/** `linked`: for texts in which a mention can be pressed. */
function inReply(reply: Reply, plain: (text: string) => string, linked: (text: string) => string): Reply {
  const named = (text: string): string => (isName(text) ? text : linked(text));
  const inBlock = (block: Block): Block => {
    const headed = 'heading' in block && block.heading !== undefined ? { heading: plain(block.heading) } : {};
    switch (block.kind) {
      case 'text':
        return { ...block, ...headed, text: linked(block.text) };
      case 'facts':
        return {
          ...block,
          ...headed,
          facts: block.facts.map(({ label, value }) => ({ label: named(label), value: linked(value) })),
        };
      // May be drawn in even-spaced letters, where nothing can be pressed.
      case 'table':
        return {
          ...block,
          ...headed,
          rows: block.rows.map((row) => row.map((cell) => (isName(cell) ? cell : plain(cell)))),
        };
      case 'steps':
        return { ...block, ...headed, steps: block.steps.map(linked) };
      // Somebody's own words, and shares.
      case 'quote':
        return { ...block, text: instantsInWords(withoutMentions(block.text)) };
      case 'bars':
        return { ...block, bars: block.bars.map(({ label, share }) => ({ label: plain(label), share })) };
      case 'pointer':
        return block;
    }
  };
  return {
    ...reply,
    title: plain(reply.title),
    cautions: reply.cautions.map((card) => ({
      ...card,
      lead: linked(card.lead),
      points: card.points.map(linked),
      ...(card.line === undefined ? {} : { line: linked(card.line) }),
    })),
    blocks: reply.blocks.map(inBlock),
    choices: reply.choices.map((choice) => ({
      ...choice,
      label: plain(choice.label),
      ...(choice.several
        ? { several: { title: plain(choice.several.title), label: plain(choice.several.label) } }
        : {}),
    })),
  };
}
