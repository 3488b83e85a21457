/** `room`, a command of this surface alone: what a room is to the bot. It is about what the core knows nothing of. */
import { z } from 'zod';
import { type Command, defineAction, defineCommand } from '../../../commands/framework/command.ts';
import type { Context } from '../../../commands/framework/context.ts';
import { choiceOption, optional } from '../../../commands/framework/option.ts';
import { Refusal } from '../../../commands/framework/refusal.ts';
import { type Draft, facts, reply, text } from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { type HomeParts, homeCommand } from '../home-command.ts';
import { MATRIX } from './requester.ts';
import { mayRedact, maySend, type RoomState } from './rooms.ts';

export interface RoomCommandParts extends HomeParts {
  database: Database;
  /** The bot's own Matrix id. */
  own: string;
  stewardLevel: number;
  /** What was last known of a room; null where nothing is. */
  stateOf: (room: string) => RoomState | null;
  /** The homeserver asked for patience not long ago. */
  isLimited: () => boolean;
}

const roomData = z.object({
  room: z.string(),
  weekly: z.boolean(),
  /** Jobs have their threads here. */
  jobs: z.boolean(),
  encrypted: z.boolean(),
  limited: z.boolean(),
  stewardLevel: z.number(),
  mayReact: z.boolean(),
  mayRedact: z.boolean(),
});
type RoomData = z.infer<typeof roomData>;

const missingRights = (data: RoomData): Message[] => [
  ...(data.limited
    ? [
        say`The homeserver limits how much it may say just now, so it sends no reactions: answer choices by number. Whoever runs the homeserver can lift the limit for its account.`,
      ]
    : []),
  ...(data.mayReact ? [] : [say`It may not react here: choices are answered by number.`]),
  ...(data.mayRedact
    ? []
    : [
        say`It may not take messages away here: a private note typed by mistake stays until its writer removes it.`,
      ]),
];

const jobsAre = (database: Database, collective: Context['collective'], room: string): boolean =>
  database.of(collective).jobPosts.channelOf(MATRIX)?.channel === room;

/** What the room is to the bot; refuses where it is none of its rooms. */
function roomNow(
  { database, own, stewardLevel, stateOf, isLimited }: RoomCommandParts,
  { place, collective }: Context,
): RoomData {
  const bound = place ? database.channelBindings.bindingOf(place.platform, place.id) : null;
  const state = place ? stateOf(place.id) : null;
  if (!bound || !state) {
    throw new Refusal({
      code: 'no-collective',
      problem: say`/room is about a shared room of the collective.`,
      expected: say`the same in that room`,
    });
  }
  return {
    room: bound.id,
    weekly: bound.weekly,
    jobs: jobsAre(database, collective, bound.id),
    encrypted: state.encryption !== null,
    limited: isLimited(),
    stewardLevel,
    mayReact: maySend(state, own, 'm.reaction'),
    mayRedact: mayRedact(state, own),
  };
}

const drawn = (title: Message, data: RoomData, { collective }: Context, tone: Draft['tone']) =>
  reply({
    title,
    tone,
    blocks: [
      facts([
        [say`Collective`, verbatim(collective.name)],
        [say`Stewards`, say`those with a power level of ${data.stewardLevel} or more`],
        [say`Weekly post`, data.weekly ? say`goes here` : say`does not go here`],
        [say`Threads of jobs`, data.jobs ? say`are here` : say`are not here`],
        [say`Encrypted`, data.encrypted ? say`yes` : say`no`],
      ]),
      ...missingRights(data).map((line) => text(line)),
      ...(tone === 'good' && data.weekly
        ? [text(say`Day and hour: /setup week-day:monday week-hour:9. What it will say: /week`)]
        : []),
    ],
    data,
  });

const roomCommand = (parts: () => RoomCommandParts): Command =>
  defineCommand({
    name: 'room',
    summary: say`This room: its collective, its rights, and whether the weekly post and the threads of jobs go here`,
    main: 'show',
    actions: {
      show: defineAction({
        summary: say`Show how this room is set up, and what is missing`,
        where: 'channel',
        options: {},
        examples: ['/room'],
        data: roomData,
        refuses: ['no-collective'],
        run: (_, context) => drawn(say`This room`, roomNow(parts(), context), context, 'plain'),
      }),
      weekly: defineAction({
        summary: say`Say whether the weekly post goes here`,
        where: 'channel',
        who: 'steward',
        options: {
          post: optional(
            choiceOption({
              summary: say`Whether it goes here; it does when this is left out`,
              example: 'off',
              choices: ['here', 'off'],
            }),
          ),
        },
        examples: ['/room weekly', '/room weekly off'],
        data: roomData,
        refuses: ['no-collective'],
        run: ({ post = 'here' }, context) => {
          const own = parts();
          const { room } = roomNow(own, context);
          const on = post === 'here';
          own.database.channelBindings.setWeekly(context.place?.platform ?? '', room, on);
          return drawn(
            on ? say`The weekly post goes here` : say`The weekly post does not go here`,
            roomNow(own, context),
            context,
            'good',
          );
        },
      }),
      jobs: defineAction({
        summary: say`Give each job a thread here, with a card that says how it stands`,
        where: 'channel',
        who: 'steward',
        options: {
          threads: optional(
            choiceOption({
              summary: say`Whether they are here; they are when this is left out`,
              example: 'off',
              choices: ['here', 'off'],
            }),
          ),
        },
        examples: ['/room jobs', '/room jobs off'],
        data: roomData,
        refuses: ['no-collective'],
        run: ({ threads = 'here' }, context) => {
          const own = parts();
          const { room } = roomNow(own, context);
          const { jobPosts } = own.database.of(context.collective);
          const on = threads === 'here';
          const by = { key: context.person.key, name: context.person.name };
          if (on) jobPosts.choose({ platform: MATRIX, channel: room, server: null, by }, context.now);
          else if (jobsAre(own.database, context.collective, room)) jobPosts.leave(MATRIX);
          const title = on ? say`Each job gets a thread here when it moves` : say`Jobs have no threads here`;
          return drawn(title, roomNow(own, context), context, 'good');
        },
      }),
    },
  });

/** The commands that only Matrix has. */
export const matrixCommands = (parts: () => RoomCommandParts): readonly Command[] => [
  roomCommand(parts),
  homeCommand(parts),
];
