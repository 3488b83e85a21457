/** `--check`: is the store sound, can what is sealed be opened, and is what the chat platforms need there? */
import { commands } from '../commands/index.ts';
import type { Knowledge } from '../knowledge/load.ts';
import type { Database } from '../shared/store/index.ts';
import { closedTexts } from './store/sealed-store.ts';
import { readDiscordSettings } from './surfaces/discord/settings.ts';
import { readMatrixSettings } from './surfaces/matrix/settings.ts';

/** What is to be told, and whether all of it is well. */
export async function check(
  database: Database,
  knowledge: Knowledge,
  environment: NodeJS.ProcessEnv,
): Promise<{ sound: boolean; lines: string[] }> {
  const closed = closedTexts(database);
  const problems = [...database.check(), ...closed.flatMap(({ line, lasting }) => (lasting ? [line] : []))];
  const lines = [
    ...closed.flatMap(({ line, lasting }) => (lasting ? [] : [`${line} They pass by themselves.`])),
    ...(problems.length ? problems : [`The store and the knowledge pack (${knowledge.version}) are sound.`]),
  ];
  const discord = readDiscordSettings(environment);
  const matrix = readMatrixSettings(environment);
  const checked: { sound: boolean; lines: string[] }[] = [];
  if (discord) {
    const { checkDiscord } = await import('./surfaces/discord/check.ts');
    checked.push(await checkDiscord({ settings: discord, database, commands }));
  } else lines.push('Discord: off; DISCORD_TOKEN is not set.');
  if (matrix) {
    const { checkMatrix } = await import('./surfaces/matrix/check.ts');
    checked.push(await checkMatrix(matrix));
  } else lines.push('Matrix: off; MATRIX_HOMESERVER and MATRIX_TOKEN are not set.');
  return {
    sound: problems.length === 0 && checked.every(({ sound }) => sound),
    lines: [...lines, ...checked.flatMap((one) => one.lines)],
  };
}
