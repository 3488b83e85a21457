/** `npm run discord:register`: tells Discord which commands there are, and prints what that changes. */

import { parseArgs } from 'node:util';
import { REST } from 'discord.js';
import { commands } from '../../../commands/index.ts';
import { WrongSetting } from '../../environment/program-settings.ts';
import { whyOf } from '../../environment/why.ts';
import { discordCodeOf, statusOf } from './api.ts';
import { planLines, planRegistration, register } from './registering.ts';
import { readDiscordSettings } from './settings.ts';

const usage = `npm run discord:register                everywhere (Discord takes up to an hour to show it)
npm run discord:register -- --server ID  in one server alone, at once
  --dry-run   only print what would change
Environment: DISCORD_TOKEN, DISCORD_APPLICATION_ID (read from the token where it can be).
`;

function readArguments() {
  try {
    return parseArgs({
      options: {
        server: { type: 'string' },
        'dry-run': { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    }).values;
  } catch (error) {
    throw new WrongSetting(whyOf(error));
  }
}

async function main(): Promise<void> {
  const given = readArguments();
  if (given.help) {
    process.stdout.write(usage);
    return;
  }
  if (given.server !== undefined && !/^\d{17,20}$/.test(given.server))
    throw new WrongSetting('--server: expected the id of a server, 17 to 20 digits.');
  const settings = readDiscordSettings(process.env);
  if (!settings) throw new WrongSetting('DISCORD_TOKEN is not set.');
  const rest = new REST({ ...(settings.api === undefined ? {} : { api: settings.api }) }).setToken(
    settings.token,
  );
  const parts = { rest, application: settings.application, commands, server: given.server ?? null };
  const plan = await (given['dry-run'] ? planRegistration(parts) : register(parts));
  process.stdout.write(`${planLines(plan).join('\n')}\n`);
  if (given['dry-run'] && plan.changes.length) process.stdout.write('Nothing was sent.\n');
}

const clearLine = (error: unknown): string => {
  if (discordCodeOf(error) !== null && statusOf(error) === 401)
    return 'DISCORD_TOKEN: Discord does not accept it.';
  if (statusOf(error) === 403)
    return 'Discord does not let this application register commands there. Is it in that server, with the scope applications.commands?';
  return whyOf(error);
};

try {
  await main();
} catch (error) {
  process.stderr.write(`discord:register: ${clearLine(error)}\n`);
  process.exitCode = 1;
}
