import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { counted, listWords, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { ERASED_NAME, type Held, type HeldKind, heldKinds } from '../../shared/store/index.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { choiceOption, optional } from '../framework/option.ts';
import { withoutEcho } from '../framework/private.ts';
import { type Draft, reply, steps, text } from '../framework/reply.ts';
import { counts, countsOf, going, kindWords } from './held.ts';

export const mydataEraseData = z.object({
  erased: z.boolean(),
  held: counts,
  /** Records that carry a name without a key, and stay under it: somebody else may be meant. */
  left: z.number().int(),
});

const leftWords = ({ names, records }: Held['unkeyed']): Message =>
  counted(
    records,
    '{0} record carries the name {1} without a key. Somebody else here goes by it too, so it stays.',
    '{0} records carry the name {1} without a key. Somebody else here goes by it too, so they stay.',
    listWords(names.map((one) => verbatim(one))),
  );

/** What an erasure takes and what it leaves, before it is done. */
function preview(held: Held, { collective }: Context): Draft<z.infer<typeof mydataEraseData>> {
  const lines = (kinds: readonly HeldKind[]) =>
    kinds
      .filter((kind) => held.rows[kind].length)
      .map((kind) => plain`${kindWords[kind]}: ${held.rows[kind].length}`);
  const goes = lines(going);
  const staying = heldKinds.filter((kind) => !going.includes(kind));
  const stays = lines(staying);
  return reply({
    audience: 'asker',
    tone: 'caution',
    title: say`This cannot be undone. Erase what is held about you?`,
    blocks: [
      ...(goes.length ? [steps(goes, say`This goes`, false)] : [text(say`Nothing of yours alone is held.`)]),
      ...(stays.length
        ? [
            steps(stays, say`This stays, without you`, false),
            text(
              say`${verbatim(collective.name)}'s accounts, prices and fault odds rest on it, and others worked from it. Your name in it becomes "${typed(ERASED_NAME)}", and your key a random one in each record, so that nobody can tell that they were one person's.`,
            ),
          ]
        : []),
      ...(held.unkeyed.records ? [text(leftWords(held.unkeyed))] : []),
      text(
        say`Out of reach: what people wrote about you in their own words, weekly posts of more than eight weeks ago where they stand, the platform’s own messages and rooms, copies of the store made before, and sealed replies, which go within 7 days.`,
      ),
      ...(held.holding.length
        ? [
            text(
              say`You still hold ${listWords(held.holding.map((number) => say`job #${number}`))}. Hand over first, or nobody is asked about it: /job hand`,
            ),
          ]
        : []),
      text(say`Keep a copy first: /mydata export`),
    ],
    choices: [
      { label: say`Erase it`, invoke: { command: 'mydata', action: 'erase', options: { sure: 'yes' } } },
    ],
    data: { erased: false, held: countsOf(held), left: held.unkeyed.records } satisfies z.infer<
      typeof mydataEraseData
    >,
  });
}

export const mydataErase = defineAction({
  summary: say`Erase what is held about you; without sure:yes it says what goes and what stays`,
  where: 'direct',
  options: {
    sure: optional(
      withoutEcho(
        choiceOption({
          choices: ['yes'],
          summary: say`Say yes to do it; it cannot be undone`,
          example: 'yes',
        }),
      ),
    ),
  },
  examples: ['/mydata erase', '/mydata erase sure:yes'],

  data: mydataEraseData,
  run: ({ sure }, context) => {
    const { store, person } = context;
    const held = store.personData.read(person.key, person.name);
    if (!sure) return preview(held, context);
    store.personData.erase(person.key, person.name);
    return reply({
      audience: 'asker',
      tone: 'good',
      title: say`What was held about you is erased`,
      blocks: [
        text(say`What stays says "${typed(ERASED_NAME)}". If you say anything here again, you are new.`),
        ...(held.unkeyed.records ? [text(leftWords(held.unkeyed))] : []),
        text(
          say`Copies of the store made before still have it. Whoever runs the bot can make a new one and drop those.`,
        ),
      ],
      data: { erased: true, held: countsOf(held), left: held.unkeyed.records } satisfies z.infer<
        typeof mydataEraseData
      >,
    });
  },
});
