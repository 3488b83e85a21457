/** The whole program, serving on the loopback Discord as a process of its own, with a steward who speaks to it. */
import { REST } from 'discord.js';
import { commands } from '../../commands/index.ts';
import { register } from '../../src/surfaces/discord/registering.ts';
import { type Running, type RunParts, run, says } from '../kills/programs.ts';
import { DEADLINE_MS } from './loopback/interactions.ts';
import type { Person } from './loopback/person.ts';
import { type Loopback, openLoopback } from './loopback/server.ts';
import { rights } from './loopback/world.ts';

export interface Served {
  loopback: Loopback;
  ines: Person;
  bot: Running;
  /** Ends the bot as a service is ended, and the loopback; gives the exit code. */
  close(): Promise<number | null>;
}

/** Resolves when the bot is connected. A busy machine makes no answer late. */
export async function served(data: string, more: Partial<RunParts> = {}): Promise<Served> {
  const loopback = await openLoopback();
  const { world, interactions } = loopback;
  interactions.deadlineMs = 100 * DEADLINE_MS;
  const user = world.addUser('ines', 'Ines');
  const server = world.addServer('Tin Shed', world.addUser('bram', 'Bram'));
  world.join(server, user, [world.addRole(server, 'Lead', rights.manageServer)]);
  const channel = world.addChannel(server, 'workshop');
  const rest = new REST({ api: loopback.api }).setToken(world.token);
  await register({ rest, application: world.application, commands, server: null });
  const bot = run({
    ...more,
    arguments: ['--serve', '--data', data, ...(more.arguments ?? [])],
    environment: { DISCORD_TOKEN: world.token, DISCORD_API: loopback.api, ...more.environment },
  });
  const close = async () => {
    bot.child.kill('SIGTERM');
    const { code } = await bot.ended;
    await loopback.close();
    return code;
  };
  try {
    if (!(await says(bot, 'connected'))) throw new Error(`the bot did not start: ${bot.out()} ${bot.err()}`);
  } catch (error) {
    await close();
    throw error;
  }
  return { loopback, ines: loopback.person(user, { channel: channel.id }), bot, close };
}
