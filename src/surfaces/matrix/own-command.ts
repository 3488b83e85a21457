/** `room`: a command of this surface alone, about what the core knows nothing of. Its replies are documents like any other. */

import type { Role } from '../../../commands/framework/context.ts';
import { roleWords } from '../../../commands/framework/dispatch.ts';
import { refusalReply } from '../../../commands/framework/refusal.ts';
import {
  type DraftBlock,
  facts,
  inWords,
  type Reply,
  reply,
  table,
  text,
} from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';
import type { ChannelBinding, Database } from '../../../shared/store/index.ts';
import { mayRedact, maySend, type RoomState } from './rooms.ts';

/** Names of this surface's own commands, and what they do. */
export const roomCommands: readonly { name: string; summary: Message }[] = [
  {
    name: 'room',
    summary: say`In a room: its collective and its rights. /room weekly sends the weekly post there, /room weekly off does not`,
  },
  { name: 'home', summary: say`In a direct room: which collective it is for` },
];

/** What help says, and what there is besides on Matrix. */
export const withOwnCommands = (help: Reply): Reply => ({
  ...help,
  blocks: [
    ...help.blocks,
    ...inWords(
      reply({
        title: say`On Matrix besides`,
        blocks: [
          table(
            [say`Command`, say`What it does`],
            roomCommands.map(({ name, summary }) => [typed(`/${name}`), summary]),
            say`On Matrix besides`,
          ),
        ],
      }),
    ).blocks,
  ],
});

export interface RoomQuestion {
  database: Database;
  place: ChannelBinding;
  line: string;
  role: Role;
  state: RoomState;
  own: string;
  stewardLevel: number;
  /** The homeserver asked for patience not long ago. */
  limited: boolean;
}

const described = (
  { database, place, state, own, stewardLevel, limited }: RoomQuestion,
  weekly: boolean,
): DraftBlock[] => {
  const collective = database.collectives.find(place.collective);
  const missing = [
    ...(limited
      ? [
          say`The homeserver limits how much it may say just now, so it sends no reactions: answer choices by number. Whoever runs the homeserver can lift the limit for its account.`,
        ]
      : []),
    ...(maySend(state, own, 'm.reaction')
      ? []
      : [say`It may not react here: choices are answered by number.`]),
    ...(mayRedact(state, own)
      ? []
      : [
          say`It may not take messages away here: a private note typed by mistake stays until its writer removes it.`,
        ]),
  ];
  return [
    facts([
      [say`Collective`, collective ? verbatim(collective.name) : say`none`],
      [say`Stewards`, say`those with a power level of ${stewardLevel} or more`],
      [say`Weekly post`, weekly ? say`goes here` : say`does not go here`],
      [say`Encrypted`, state.encryption ? say`yes` : say`no`],
    ]),
    ...missing.map((line) => text(line)),
  ];
};

/** `/room`, `/room weekly`, `/room weekly off`. */
export function roomReply(question: RoomQuestion): Reply {
  const { database, place, line, role } = question;
  const words = line.trim().toLowerCase().split(/\s+/).slice(1).join(' ');
  if (words === '' || words === 'show')
    return inWords(reply({ title: say`This room`, blocks: described(question, place.weekly) }));
  if (words !== 'weekly' && words !== 'weekly off') {
    return inWords(
      refusalReply({
        problem: say`/room does not know "${verbatim(words)}".`,
        expected: say`/room, /room weekly or /room weekly off`,
      }),
    );
  }
  if (role !== 'steward') {
    return inWords(
      refusalReply({
        problem: say`/room weekly is for stewards of the collective; you are a ${roleWords[role]} here.`,
        expected: say`to ask one of the stewards`,
      }),
    );
  }
  const on = words === 'weekly';
  database.channelBindings.setWeekly(place.platform, place.id, on);
  return inWords(
    reply({
      title: on ? say`The weekly post goes here` : say`The weekly post does not go here`,
      tone: 'good',
      blocks: [
        ...described(question, on),
        ...(on ? [text(say`Day and hour: /setup week-day:monday week-hour:9. What it will say: /week`)] : []),
      ],
    }),
  );
}
