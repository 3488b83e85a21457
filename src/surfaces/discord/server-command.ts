/** `/server`, a command of this surface alone: it is about servers, channels and roles, which the core knows nothing of. */
import { z } from 'zod';
import { type Command, defineAction, defineCommand } from '../../../commands/framework/command.ts';
import type { Context } from '../../../commands/framework/context.ts';
import { choiceOption, nativeOption, optional } from '../../../commands/framework/option.ts';
import { Refusal } from '../../../commands/framework/refusal.ts';
import { type Draft, facts, reply, text } from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { listWords, plain, say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { type HomeParts, homeCommand } from '../home-command.ts';
import { missingJobRights } from './job-channel.ts';
import { toldOfJobs } from './job-threads.ts';
import { DISCORD, type Requesters } from './requester.ts';
import {
  CHANNEL_GONE,
  type ChannelAt,
  channelsIn,
  checkPostable,
  chooseChannel,
  leaveChannel,
  missingRights,
  type RightsIn,
  rightsAdvice,
} from './weekly-channel.ts';

export interface DiscordCommandParts extends HomeParts {
  database: Database;
  who: Pick<Requesters, 'rolesOf' | 'setRoles'>;
  rightsIn: RightsIn;
  nameOfRole: (server: string, role: string) => string;
  nameOfChannel: (channel: string) => string;
  channelAt: ChannelAt;
}

const serverData = z.object({
  server: z.string(),
  steward: z.string().nullable(),
  member: z.string().nullable(),
  weekly: z.array(z.string()),
  /** The channel or forum in which jobs have their threads. */
  jobs: z.string().nullable(),
  /** Channels of the weekly post that the bot cannot post in. */
  missing: z.array(z.string()),
});
type ServerData = z.infer<typeof serverData>;

function serverOf({ place }: Context): string {
  if (place?.platform === DISCORD) return place.id;
  throw new Refusal({
    code: 'unavailable',
    problem: say`/server is for servers.`,
    expected: say`the same in a server`,
  });
}

/** What the channel lacks for the weekly post; null when nothing. */
function adviceFor({ rightsIn, nameOfChannel }: DiscordCommandParts, channel: string): Message | null {
  const granted = rightsIn(channel);
  if (granted === null) return CHANNEL_GONE;
  const missing = missingRights(granted);
  return missing.length ? rightsAdvice(nameOfChannel(channel), missing) : null;
}

/** The same for the threads of jobs. */
function jobsAdvice({ rightsIn, nameOfChannel }: DiscordCommandParts, channel: string): Message | null {
  const granted = rightsIn(channel);
  if (granted === null)
    return say`The channel of the jobs is not there any more. Choose another with /server jobs.`;
  const missing = missingJobRights(granted);
  return missing.length ? rightsAdvice(nameOfChannel(channel), missing) : null;
}

/** The channel of the jobs, where it is in this server. */
const jobsIn = (
  { database }: DiscordCommandParts,
  { collective }: Context,
  server: string,
): string | null => {
  const chosen = database.of(collective).jobPosts.channelOf(DISCORD);
  return chosen?.server === server ? chosen.channel : null;
};

function serverNow(parts: DiscordCommandParts, context: Context, server: string): ServerData {
  const { collective } = context;
  const jobs = jobsIn(parts, context, server);
  const weekly = channelsIn(parts.database, server, collective.id);
  const missing = [
    ...weekly.filter((channel) => adviceFor(parts, channel) !== null),
    ...(jobs !== null && jobsAdvice(parts, jobs) !== null ? [jobs] : []),
  ];
  return { server, ...parts.who.rolesOf(server), weekly, jobs, missing };
}

function drawn(
  title: Message,
  parts: DiscordCommandParts,
  data: ServerData,
  { collective }: Context,
  tone: Draft['tone'],
): Draft<ServerData> {
  const { nameOfRole, nameOfChannel } = parts;
  const role = (id: string | null, none: Message) =>
    id === null ? none : plain`@${verbatim(nameOfRole(data.server, id))}`;
  return reply({
    title,
    tone: data.missing.length ? 'caution' : tone,
    blocks: [
      facts([
        [say`Collective`, verbatim(collective.name)],
        [say`Stewards`, say`${role(data.steward, say`no role`)}, and who may manage the server`],
        [say`Members`, role(data.member, say`everyone here`)],
        [
          say`Weekly post`,
          data.weekly.length
            ? listWords(data.weekly.map((one) => verbatim(nameOfChannel(one))))
            : say`not in this server`,
        ],
        [
          say`Threads of jobs`,
          data.jobs === null ? say`not in this server` : verbatim(nameOfChannel(data.jobs)),
        ],
      ]),
      ...data.weekly.flatMap((channel) => adviceFor(parts, channel) ?? []).map((line) => text(line)),
      ...(data.jobs === null ? [] : [jobsAdvice(parts, data.jobs) ?? []].flat()).map((line) => text(line)),
    ],
    data,
  });
}

const yes = (summary: Message) => optional(choiceOption({ summary, example: 'yes', choices: ['yes'] }));

const roleOptions = {
  steward: optional(
    nativeOption({
      kind: 'role',
      summary: say`Who has it is a steward; those who may manage the server always are`,
      example: '@Bench leads',
    }),
  ),
  member: optional(
    nativeOption({
      kind: 'role',
      summary: say`Who has it is a member; everyone here is when no role is set`,
      example: '@Bench',
    }),
  ),
  nobody: yes(say`Forget both roles`),
};

/** Discord shows what sets up only to those who may manage the server, until its settings say otherwise. */
const shownTo = (role: Message): Message =>
  say`Discord shows /setup and /server only to those who may manage the server. For ${role}: in the server’s settings, under Integrations, open me and add the role to both.`;

const rolesAction = (parts: () => DiscordCommandParts) =>
  defineAction({
    summary: say`Say which role makes a steward, and whether members need one`,
    where: 'channel',
    who: 'steward',
    options: roleOptions,
    examples: ['/server roles steward:@Bench leads'],
    data: serverData,
    refuses: ['missing-option'],
    run: ({ steward, member, nobody }, context) => {
      const server = serverOf(context);
      if (!steward && !member && !nobody) {
        throw new Refusal({
          code: 'missing-option',
          problem: say`No role is named.`,
          expected: say`steward:, member:, or nobody:yes to forget both`,
        });
      }
      const { who } = parts();
      const before = nobody ? { steward: null, member: null } : who.rolesOf(server);
      who.setRoles(server, { steward: steward ?? before.steward, member: member ?? before.member });
      const set = drawn(
        say`The roles are set`,
        parts(),
        serverNow(parts(), context, server),
        context,
        'good',
      );
      if (steward === undefined) return set;
      const named = verbatim(parts().nameOfRole(server, steward));
      return { ...set, blocks: [...set.blocks, text(shownTo(named))] };
    },
  });

const weeklyAction = (parts: () => DiscordCommandParts) =>
  defineAction({
    summary: say`Say in which channel the weekly post goes out`,
    where: 'channel',
    who: 'steward',
    options: {
      channel: optional(
        nativeOption({ kind: 'channel', summary: say`This one when left out`, example: '#workshop' }),
      ),
      off: yes(say`Nowhere in this server`),
    },
    examples: ['/server weekly', '/server weekly off:yes'],
    data: serverData,
    refuses: ['missing-option'],
    run: ({ channel: given, off }, context) => {
      const { database } = parts();
      const { collective, place, person, now } = context;
      const server = serverOf(context);
      const channel = given ?? place?.channel;
      if (!off && channel !== undefined)
        checkPostable(parts().channelAt, channel, server, parts().nameOfChannel);
      for (const one of channelsIn(database, server, collective.id)) leaveChannel(database, one);
      if (!off && channel !== undefined) {
        const by = person.key.slice(`${DISCORD}:`.length);
        chooseChannel(database, channel, collective.id, { server, by }, now);
      }
      return drawn(say`The channel is set`, parts(), serverNow(parts(), context, server), context, 'good');
    },
  });

const jobsAction = (parts: () => DiscordCommandParts) =>
  defineAction({
    summary: say`Give each job a thread in a channel, or a post in a forum, with a card that says how it stands`,
    where: 'channel',
    who: 'steward',
    options: {
      channel: optional(
        nativeOption({
          kind: 'place',
          summary: say`A channel or a forum; this one when left out`,
          example: '#jobs',
        }),
      ),
      off: yes(say`No threads for jobs`),
    },
    examples: ['/server jobs', '/server jobs off:yes'],
    data: serverData,
    refuses: ['missing-option'],
    run: ({ channel: given, off }, context) => {
      const { database } = parts();
      const { collective, place, person, now } = context;
      const server = serverOf(context);
      const channel = given ?? place?.channel;
      const { jobPosts } = database.of(collective);
      const by = { key: person.key, name: person.name };
      if (off) jobPosts.leave(DISCORD);
      else if (channel !== undefined) jobPosts.choose({ platform: DISCORD, channel, server, by }, now);
      database.surfaceState.delete(DISCORD, toldOfJobs(collective.id));
      const made = drawn(
        off ? say`Jobs have no threads` : say`Each job gets a thread there when it moves`,
        parts(),
        serverNow(parts(), context, server),
        context,
        'good',
      );
      return made;
    },
  });

const serverCommand = (parts: () => DiscordCommandParts): Command =>
  defineCommand({
    name: 'server',
    summary: say`This server: its collective, its stewards, the channels of the weekly post and of the jobs`,
    main: 'show',
    actions: {
      show: defineAction({
        summary: say`Show how this server is set up, and what is missing`,
        where: 'channel',
        options: {},
        examples: ['/server show'],
        data: serverData,
        refuses: ['missing-option'],
        run: (_, context) =>
          drawn(say`This server`, parts(), serverNow(parts(), context, serverOf(context)), context, 'plain'),
      }),
      roles: rolesAction(parts),
      weekly: weeklyAction(parts),
      jobs: jobsAction(parts),
    },
  });

/** The commands that only Discord has. */
export const discordCommands = (parts: () => DiscordCommandParts): readonly Command[] => [
  serverCommand(parts),
  homeCommand(parts),
];
