/** Words of danger in what somebody typed, whatever the command made of it, bring the danger card first. */
import { type DangerWords, dangerWords, type Words } from '../../knowledge/words.ts';
import { joined, packText, say } from '../../shared/language/say.ts';
import { isCellFact } from '../../shared/phone/state.ts';
import { cardOf, cautionsFor, LOCAL_CODES } from '../../shared/safety/cautions.ts';
import { type Danger, dangerIn } from '../../shared/words/danger.ts';
import type { Command } from './command.ts';
import type { Context } from './context.ts';
import type { Draft, DraftCard, Invocation } from './reply.ts';

export const HOT_CELL = 'hot-or-smoking-cell';
export const SWOLLEN_CELL = 'swollen-cell';

// The words of a pack are compiled once.
const known = new WeakMap<Words, DangerWords>();
function wordsOf({ knowledge }: Pick<Context, 'knowledge'>): DangerWords {
  const found = known.get(knowledge.words) ?? dangerWords(knowledge.words);
  known.set(knowledge.words, found);
  return found;
}

/** What a text says of danger. */
export const dangerSaid = (context: Pick<Context, 'knowledge'>, text: string): Danger =>
  dangerIn(wordsOf(context), text);

/** The cards of what was said: fire, smoke and heat first, then a suspect cell, then liquid. */
function cardsOfWords({ knowledge, collective }: Context, { facts, found }: Danger): DraftCard[] {
  const hot = facts.includes('hot') || found.some(({ service }) => service === 'fire');
  const cell = facts.some((fact) => fact !== 'hot' && isCellFact(fact));
  const ids = [
    ...(hot ? [HOT_CELL] : []),
    ...(cell && !hot ? [SWOLLEN_CELL] : []),
    ...(facts.includes('wet') ? cautionsFor(knowledge, ['wet']).map(({ id }) => id) : []),
  ];
  return ids.flatMap((id) => {
    const caution = knowledge.cautions.get(id);
    return caution ? [cardOf(knowledge, caution, collective.settings.region)] : [];
  });
}

/** What somebody typed in a request; nothing where they chose among what the bot had offered. */
export const typedIn = (said: { line: string } | { invoke: Invocation } | { token: string }): string =>
  'line' in said ? said.line : 'invoke' in said ? Object.values(said.invoke.options).join('\n') : '';

/** The same without a file that tells of phones that are elsewhere: nobody stands before one. */
export function typedOfHere(
  said: { line: string } | { invoke: Invocation } | { token: string },
  commands: readonly Command[],
): string {
  if (!('invoke' in said)) return typedIn(said);
  const { command, action, options } = said.invoke;
  const known = commands.find(({ name }) => name === command)?.actions[action]?.options ?? {};
  return Object.entries(options)
    .flatMap(([name, text]) => (known[name]?.elsewhere ? [] : [text]))
    .join('\n');
}

/** The reply with the cards of what was typed before its own, each once. A caution that was asked for is its own card. */
export function withDangerWords(made: Draft, typed: string, context: Context): Draft {
  if (!typed.trim()) return made;
  const danger = dangerSaid(context, typed);
  if (!danger.found.length) return made;
  const cards = cardsOfWords(context, danger).filter(
    ({ id }) => !made.cautions.some((card) => card.id === id && !card.brief) && !isCaution(made, id),
  );
  if (!cards.length) return made;
  return {
    ...made,
    tone: cards.some(({ tone }) => tone === 'danger') ? 'danger' : made.tone,
    cautions: [...cards, ...made.cautions.filter(({ id }) => !cards.some((card) => card.id === id))],
  };
}

const isCaution = ({ data }: Draft, id: string): boolean =>
  data !== null &&
  typeof data === 'object' &&
  'kind' in data &&
  data.kind === 'caution' &&
  'id' in data &&
  data.id === id;

/** Over the cautions, once: local codes come first; and how to have the right number, where the place is not known. */
export function withLocalCodes(made: Draft, region: string | null): Draft {
  if (!made.cautions.length) return made;
  const unknown = region === null && made.cautions.some(({ tone }) => tone === 'danger');
  return {
    ...made,
    before: joined([
      packText(LOCAL_CODES),
      unknown ? say`Which number to call depends on where you are: /setup region: and its code.` : '',
    ]),
  };
}
