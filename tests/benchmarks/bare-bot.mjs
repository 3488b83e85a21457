/**
 * The floor that the bot on Discord is measured against: a bare discord.js bot that answers a constant to everything. It
 * takes its token and the address of Discord from the same settings as the bot, and prints a line when it is ready.
 */
import { Client, Events, GatewayIntentBits } from 'discord.js';

const client = new Client({
  intents: [GatewayIntentBits.Guilds],
  allowedMentions: { parse: [] },
  rest: { api: process.env.DISCORD_API },
});
client.on(Events.InteractionCreate, async (interaction) => {
  if (interaction.isAutocomplete()) await interaction.respond([{ name: 'Pass', value: 'pass' }]);
  else if (interaction.isButton()) await interaction.update({ content: 'Pass.' });
  else if (interaction.isRepliable()) await interaction.reply({ content: 'Pass.' });
});
client.once(Events.ClientReady, () => process.stdout.write('ready\n'));
process.once('SIGTERM', () => client.destroy());
await client.login(process.env.DISCORD_TOKEN);
