/** `--check`: is the store sound, can what is sealed be opened, and is what the chat platforms need there? */
import { commands } from '../commands/index.ts';
import type { Knowledge } from '../knowledge/load.ts';
import { newKey, sealerOf } from '../shared/sealing/sealer.ts';
import {
  type Database,
  NoStore,
  openDatabase,
  upgradeCopiesOf,
  type Verified,
  verifyStore,
} from '../shared/store/index.ts';
import { holdingLine, type Told } from './store/backup.ts';
import { copyLine } from './store/copy-line.ts';
import { closedLines, keysOf, openSealedStore, type StoreParts, storeFile } from './store/sealed-store.ts';
import { readDiscordSettings } from './surfaces/discord/settings.ts';
import { readMatrixSettings } from './surfaces/matrix/settings.ts';

/** The store as it is: nothing is made where there is none, and an older one is not brought up to date. */
function lookInto(parts: StoreParts): Verified | null {
  try {
    return verifyStore(storeFile(parts), sealerOf(keysOf(parts) ?? [newKey()]));
  } catch (error) {
    if (error instanceof NoStore) return null;
    throw error;
  }
}

function storeLines(found: Verified | null, parts: StoreParts, pack: string): Told {
  if (found === null)
    return {
      sound: false,
      lines: [
        `There is no store in ${parts.data}, and none was made. Before the first start that is as it should be; after it, the folder is another one (--data, THIRDHAND_DATA).`,
      ],
    };
  const closed = closedLines(found.sealed ?? []);
  const problems = [...found.problems, ...closed.flatMap(({ line, lasting }) => (lasting ? [line] : []))];
  return {
    sound: problems.length === 0,
    lines: [
      `The store in ${parts.data} holds ${holdingLine(found)}.`,
      ...upgradeCopiesOf(storeFile(parts)).map(copyLine),
      ...(found.sealed === null
        ? ['It is of an older version: the next start brings it up to date, and lays a copy beside it first.']
        : []),
      ...closed.flatMap(({ line, lasting }) => (lasting ? [] : [`${line} They pass by themselves.`])),
      ...(problems.length ? problems : [`The store and the knowledge pack (${pack}) are sound.`]),
    ],
  };
}

/** For what a platform has to ask: the store, or an empty one in memory where there is none of this version. */
const openFor = (found: Verified | null, parts: StoreParts): Database =>
  found !== null && found.sealed !== null
    ? openSealedStore({ ...parts, makeKey: false }).database
    : openDatabase(':memory:', sealerOf([newKey()]));

/** What is asked of the chat platforms that are set. */
export async function checkPlatforms(database: Database, environment: NodeJS.ProcessEnv): Promise<Told> {
  const lines: string[] = [];
  const discord = readDiscordSettings(environment);
  const matrix = readMatrixSettings(environment);
  const checked: Told[] = [];
  if (discord) {
    const { checkDiscord } = await import('./surfaces/discord/check.ts');
    checked.push(await checkDiscord({ settings: discord, database, commands }));
  } else lines.push('Discord: off; DISCORD_TOKEN is not set.');
  if (matrix) {
    const { checkMatrix } = await import('./surfaces/matrix/check.ts');
    checked.push(await checkMatrix(matrix));
  } else lines.push('Matrix: off; MATRIX_HOMESERVER and MATRIX_TOKEN are not set.');
  return {
    sound: checked.every(({ sound }) => sound),
    lines: [...lines, ...checked.flatMap((one) => one.lines)],
  };
}

/** What is to be told, and whether all of it is well. Throws what `verifyStore` throws for a file that is no store of this version. */
export async function check(
  parts: StoreParts,
  knowledge: Knowledge,
  environment: NodeJS.ProcessEnv,
): Promise<Told> {
  const found = lookInto(parts);
  const store = storeLines(found, parts, knowledge.version);
  const database = openFor(found, parts);
  try {
    const platforms = await checkPlatforms(database, environment);
    return { sound: store.sound && platforms.sound, lines: [...store.lines, ...platforms.lines] };
  } finally {
    database.close();
  }
}
