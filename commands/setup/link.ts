/** Ties places on two platforms together: a word from a steward of the one, said by a steward of the other. */
import { z } from 'zod';
import { counted, listWords, say, typed, verbatim } from '../../shared/language/say.ts';
import { LINK_MINUTES } from '../../shared/store/index.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { choiceOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { type Draft, reply, steps, text } from '../framework/reply.ts';

export const linkData = z.object({
  /** The word that was given, and for how many minutes it is good. */
  word: z.string().nullable(),
  minutes: z.number().int().nullable(),
  /** The collective that this place belongs to now; null where nothing was changed. */
  joined: z.string().nullable(),
});
type LinkData = z.infer<typeof linkData>;
const noLink: LinkData = { word: null, minutes: null, joined: null };

/** For a word that is not good, or is good no more. */
export const staleWord = (): Refusal =>
  new Refusal({
    code: 'bad-option',
    option: 'word',
    problem: say`That word is not good, or not any more.`,
    expected: say`a word from /setup link at the other place; it is good once, for ${LINK_MINUTES} minutes`,
    example: '/setup link',
  });

function giveWord({ store, person, now, collective }: Context): Draft<LinkData> {
  const word = store.links.give(person.key, now);
  return reply({
    audience: 'asker',
    title: say`The word is ${typed(word)}`,
    tone: 'good',
    blocks: [
      steps([
        say`Go to the other place: the Discord server, or the Matrix room.`,
        say`As a steward there, say: /setup link word:${typed(word)}`,
      ]),
      text(
        say`That place then belongs to ${verbatim(collective.name)}: jobs, prices and traces are the same on both. The word is good once, for ${LINK_MINUTES} minutes. Whoever has it can join a place of theirs, so hand it to nobody else.`,
      ),
    ],
    data: { ...noLink, word, minutes: LINK_MINUTES } satisfies LinkData,
  });
}

function takeWord(word: string, leave: boolean, { store, collective, place, now }: Context): Draft<LinkData> {
  if (!place) {
    throw new Refusal({
      code: 'not-here',
      problem: say`A word joins a shared place, and this is none.`,
      expected: say`the same words in the Discord server or the Matrix room that is to join`,
    });
  }
  const other = store.links.find(word, now);
  if (!other) throw staleWord();
  if (other.id === collective.id) {
    const before = store.links.join(word, place, now);
    return reply({
      title: say`This place belongs to ${verbatim(before?.name ?? collective.name)}`,
      tone: 'good',
      blocks: [text(say`Jobs, prices and traces are the same here and where the word came from.`)],
      data: { ...noLink, joined: collective.name } satisfies LinkData,
    });
  }
  const { jobs, prices, traces } = store.links.held();
  const kept = [
    ...(jobs ? [counted(jobs, '{0} job', '{0} jobs')] : []),
    ...(prices ? [counted(prices, '{0} price', '{0} prices')] : []),
    ...(traces ? [counted(traces, '{0} trace', '{0} traces')] : []),
  ];
  if (kept.length && !leave) {
    return reply({
      title: say`Join ${verbatim(other.name)}, and leave ${listWords(kept)} of ${verbatim(collective.name)} behind?`,
      tone: 'caution',
      blocks: [
        text(
          say`They are not moved and are not seen from here any more: they stay with ${verbatim(collective.name)}. /prices export takes the prices along.`,
        ),
      ],
      choices: [
        {
          label: say`Join ${verbatim(other.name)}`,
          invoke: { command: 'setup', action: 'link', options: { word, leave: 'yes' } },
        },
      ],
      data: noLink,
    });
  }
  const joined = store.links.join(word, place, now);
  if (!joined) throw staleWord();
  return reply({
    title: say`This place belongs to ${verbatim(joined.name)} now`,
    tone: 'good',
    blocks: [
      text(say`Jobs, prices and traces are the same here and there; a trace begun there can go on here.`),
      ...(kept.length ? [text(say`Left behind with ${verbatim(collective.name)}: ${listWords(kept)}.`)] : []),
    ],
    data: { ...noLink, joined: joined.name } satisfies LinkData,
  });
}

export const setupLink = defineAction({
  summary: say`Tie a Discord server and Matrix rooms together: get a one-time word in one place, say it in the other`,
  who: 'steward',
  options: {
    word: optional(
      textOption({ summary: say`The word that the other place gave`, example: 'ABCD-EFGH-JKLM', max: 40 }),
    ),
    leave: optional(
      choiceOption({
        summary: say`Join although this place has records of its own, and leave them behind`,
        example: 'yes',
        choices: ['yes'],
      }),
    ),
  },
  examples: ['/setup link', '/setup link word:ABCD-EFGH-JKLM'],

  data: linkData,
  refuses: ['not-here'],
  run: ({ word, leave }, context) =>
    word === undefined ? giveWord(context) : takeWord(word, leave === 'yes', context),
});
