/** What `/server` does. Replies are documents like any other. */

import { roleWords } from '../../../commands/framework/dispatch.ts';
import { Refusal, refusalReply } from '../../../commands/framework/refusal.ts';
import { facts, inWords, type Reply, reply, text } from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { listWords, plain, say, typed, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Incoming } from './incoming.ts';
import type { Requester, Requesters, ServerRoles } from './requester.ts';
import {
  CHANNEL_GONE,
  channelsIn,
  chooseChannel,
  leaveChannel,
  missingRights,
  type RightsIn,
  rightsAdvice,
} from './weekly-channel.ts';

export interface OwnActions {
  run(incoming: Extract<Incoming, { kind: 'command' }>, asker: Requester): Reply;
}

export interface OwnParts {
  database: Database;
  who: Requesters;
  clock: () => Date;
  rightsIn: RightsIn;
  nameOfRole: (server: string, role: string) => string;
  nameOfChannel: (channel: string) => string;
}

export function ownActionsOf({
  database,
  who,
  clock,
  rightsIn,
  nameOfRole,
  nameOfChannel,
}: OwnParts): OwnActions {
  const warnings = (channels: readonly string[]): Message[] =>
    channels.flatMap((channel) => {
      const granted = rightsIn(channel);
      if (granted === null) return [CHANNEL_GONE];
      const missing = missingRights(granted);
      return missing.length ? [rightsAdvice(nameOfChannel(channel), missing)] : [];
    });

  const shown = (title: Message, server: string, { collective }: Requester, tone: Reply['tone']): Reply => {
    const { steward, member } = who.rolesOf(server);
    const channels = channelsIn(database, server, collective.id);
    const missing = warnings(channels);
    const role = (id: string | null, none: Message) =>
      id === null ? none : plain`@${verbatim(nameOfRole(server, id))}`;
    return inWords(
      reply({
        title,
        tone: missing.length ? 'caution' : tone,
        blocks: [
          facts([
            [say`Collective`, verbatim(collective.name)],
            [say`Stewards`, say`${role(steward, say`no role`)}, and who may manage the server`],
            [say`Members`, role(member, say`everyone here`)],
            [
              say`Weekly post`,
              channels.length
                ? listWords(channels.map((one) => verbatim(nameOfChannel(one))))
                : say`not in this server`,
            ],
          ]),
          ...missing.map((line) => text(line)),
        ],
        data: { collective: collective.name, steward, member, weekly: channels, missing: missing.length },
      }),
      collective.settings.language,
    );
  };

  const setRoles = (server: string, given: Readonly<Record<string, string>>): void => {
    const { steward, member, nobody } = given;
    if (!steward && !member && !nobody) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`No role is named.`,
        expected: say`steward:, member:, or nobody:yes to forget both`,
        example: '/server roles steward:@Bench leads',
      });
    }
    const before: ServerRoles = nobody ? { steward: null, member: null } : who.rolesOf(server);
    who.setRoles(server, { steward: steward ?? before.steward, member: member ?? before.member });
  };

  const setWeekly = (
    server: string,
    { collective }: Requester,
    incoming: Extract<Incoming, { kind: 'command' }>,
  ): void => {
    const channel = incoming.options.channel ?? incoming.channel;
    for (const one of channelsIn(database, server, collective.id)) leaveChannel(database, one);
    if (incoming.options.off || channel === null) return;
    chooseChannel(database, channel, collective.id, { server, by: incoming.user }, clock());
  };

  return {
    run: (incoming, asker) => {
      const { server } = incoming;
      if (!server) {
        return inWords(
          refusalReply({
            code: 'not-here',
            problem: say`/server is for servers.`,
            expected: say`the same in a server`,
          }),
        );
      }
      const action = incoming.action || 'show';
      if (action === 'show') return shown(say`This server`, server.id, asker, 'plain');
      if (asker.person.role !== 'steward') {
        return inWords(
          refusalReply({
            code: 'not-allowed',
            problem: say`${typed(`/server ${action}`)} is for stewards of the collective; you are a ${roleWords[asker.person.role]} here.`,
            expected: say`to ask one of the stewards, or somebody who may manage the server`,
          }),
        );
      }
      return database.transaction(() => {
        if (action === 'roles') setRoles(server.id, incoming.options);
        else setWeekly(server.id, asker, incoming);
        return shown(
          action === 'roles' ? say`The roles are set` : say`The channel is set`,
          server.id,
          asker,
          'good',
        );
      });
    },
  };
}
