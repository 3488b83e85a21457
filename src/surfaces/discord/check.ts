/** What `--check` says of Discord, without a connection to its gateway. */

import { z } from 'zod';
import type { Command } from '../../../commands/framework/command.ts';
import { render } from '../../../shared/language/render.ts';
import type { Database } from '../../../shared/store/index.ts';
import { whyOf } from '../../environment/why.ts';
import { discordCodeOf, errorCode, paths, rights, statusOf } from './api.ts';
import { planRegistration } from './registering.ts';
import { DISCORD } from './requester.ts';
import type { Rest } from './rest.ts';
import type { DiscordSettings } from './settings.ts';
import { allRights, CHANNEL_GONE, missingRights, rightsAdvice } from './weekly-channel.ts';

export interface CheckParts {
  settings: DiscordSettings;
  database: Database;
  commands: readonly Command[];
}
export interface Checked {
  /** False when the bot could not run. */
  sound: boolean;
  lines: string[];
}

const userSchema = z.object({ id: z.string() });
const applicationSchema = z.object({ id: z.string(), name: z.string() });
const overwriteSchema = z.object({ id: z.string(), type: z.number(), allow: z.string(), deny: z.string() });
const channelSchema = z.object({
  name: z.string(),
  guild_id: z.string(),
  permission_overwrites: z.array(overwriteSchema).default([]),
});
const serverSchema = z.object({
  owner_id: z.string(),
  roles: z.array(z.object({ id: z.string(), permissions: z.string() })),
});
const memberSchema = z.object({ roles: z.array(z.string()) });

/**
 * What a member may do in a channel: their roles together, then the channel's own word on everyone, on their roles, and on
 * themselves. Source: Discord's developer documentation, "Permission Overwrites".
 */
export function rightsIn(
  self: string,
  roles: readonly string[],
  server: z.infer<typeof serverSchema> & { id: string },
  overwrites: readonly z.infer<typeof overwriteSchema>[],
): bigint {
  const ofRole = (id: string) => BigInt(server.roles.find((role) => role.id === id)?.permissions ?? 0);
  const granted = [server.id, ...roles].reduce((sum, id) => sum | ofRole(id), 0n);
  if (server.owner_id === self || granted & rights.administrator) return granted | rights.administrator;
  const apply = (before: bigint, which: typeof overwrites): bigint => {
    const deny = which.reduce((sum, one) => sum | BigInt(one.deny), 0n);
    const allow = which.reduce((sum, one) => sum | BigInt(one.allow), 0n);
    return (before & ~deny) | allow;
  };
  const everyone = overwrites.filter(({ id }) => id === server.id);
  const ofRoles = overwrites.filter(({ id, type }) => type === 0 && id !== server.id && roles.includes(id));
  const own = overwrites.filter(({ id, type }) => type === 1 && id === self);
  return apply(apply(apply(granted, everyone), ofRoles), own);
}

/** What is wrong with a channel of the weekly post; null when nothing is. */
async function channelProblem(rest: Rest, self: string, id: string): Promise<string | null> {
  try {
    const channel = channelSchema.parse(await rest.get(paths.channel(id)));
    const server = serverSchema.parse(await rest.get(paths.server(channel.guild_id)));
    const { roles } = memberSchema.parse(await rest.get(paths.member(channel.guild_id, self)));
    const granted = rightsIn(self, roles, { ...server, id: channel.guild_id }, channel.permission_overwrites);
    const missing = missingRights(granted);
    return missing.length ? render(rightsAdvice(`#${channel.name}`, missing)) : null;
  } catch (error) {
    const code = discordCodeOf(error);
    if (code === errorCode.unknownChannel) return render(CHANNEL_GONE);
    if (code === errorCode.missingAccess || code === errorCode.unknownServer)
      return render(rightsAdvice(`the channel ${id}`, allRights));
    throw error;
  }
}

/**
 * The settings have been read already, so that a token that cannot be one was refused without a connection. What is left is
 * asked of Discord's REST interface: is the token good, are the commands registered, can the weekly post be sent.
 */
export async function checkDiscord({ settings, database, commands }: CheckParts): Promise<Checked> {
  const { REST } = await import('discord.js');
  const rest = new REST({
    ...(settings.api === undefined ? {} : { api: settings.api }),
    retries: 1,
    timeout: 10_000,
  }).setToken(settings.token);
  try {
    const own = applicationSchema.parse(await rest.get(paths.application()));
    if (own.id !== settings.application) {
      return {
        sound: false,
        lines: [
          `Discord: DISCORD_TOKEN belongs to application ${own.id}, but DISCORD_APPLICATION_ID is ${settings.application}.`,
        ],
      };
    }
    const lines = [`Discord: knows the bot as ${own.name} (application ${own.id}).`];
    const { changes, same } = await planRegistration({
      rest,
      application: own.id,
      commands,
      server: null,
    });
    lines.push(
      changes.length
        ? `Discord: ${changes.length} commands are not registered everywhere as this version has them (${same} are). npm run discord:register sends them.`
        : `Discord: all ${same} commands are registered.`,
    );
    const channels = database.collectives
      .list()
      .flatMap(({ id }) => database.channelBindings.weeklyBindings(id))
      .filter(({ platform }) => platform === DISCORD);
    const { id: self } = userSchema.parse(await rest.get(paths.self()));
    const problems: string[] = [];
    for (const { id } of channels) {
      const problem = await channelProblem(rest, self, id);
      if (problem !== null) problems.push(`Discord: ${problem}`);
    }
    if (!channels.length) lines.push('Discord: no channel is chosen for the weekly post (/server weekly).');
    else if (!problems.length) lines.push('Discord: the weekly post can be sent.');
    return { sound: problems.length === 0, lines: [...lines, ...problems] };
  } catch (error) {
    if (statusOf(error) === 401)
      return {
        sound: false,
        lines: ['DISCORD_TOKEN: Discord does not accept it. Reset it in the developer portal under Bot.'],
      };
    const why = whyOf(error);
    return {
      sound: false,
      lines: [`Discord: cannot be asked now (${why}); the settings themselves read well.`],
    };
  }
}
