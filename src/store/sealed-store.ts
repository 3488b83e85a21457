/** Opens the store with its keys, finishes a change of key that was cut short, and changes the key. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { interimSealer, newKey, sealerOf } from '../../shared/sealing/sealer.ts';
import {
  type Database,
  isPassing,
  openDatabase,
  readContents,
  type SealedCount,
  type SealedKind,
} from '../../shared/store/index.ts';
import { WrongSetting } from '../environment/program-settings.ts';
import { dropUnfinished, type Keys, makeKeyFile, readKey, readKeyFile, writeKeyFile } from './keys.ts';

export interface StoreParts {
  /** The folder of the data. */
  data: string;
  /** THIRDHAND_KEY and THIRDHAND_KEY_OLD. */
  key?: string | undefined;
  keyOld?: string | undefined;
  /** False: no key is made where there is none. */
  makeKey?: boolean;
}

export interface OpenStore {
  database: Database;
  /** What whoever runs the bot should know, one line each. */
  lines: string[];
}

export const storeFile = ({ data }: StoreParts): string => join(data, 'thirdhand.sqlite');
export const keyFile = ({ data }: StoreParts): string => join(data, 'key');

/** All keys at hand; null when there is none. */
export function keysOf({ key, keyOld, ...parts }: StoreParts): Keys | null {
  const first = key === undefined ? readKeyFile(keyFile(parts)) : ([readKey(key, 'THIRDHAND_KEY')] as const);
  if (!first || keyOld === undefined) return first;
  const [current, ...others] = first;
  return [current, ...others, readKey(keyOld, 'THIRDHAND_KEY_OLD')];
}

const texts = (count: number): string =>
  count === 1 ? '1 sealed text' : `${count} sealed texts (notes, IMEIs, keys of encrypted rooms)`;

/** Without a key: the store as far as that goes, or with a first key where nothing is sealed yet. */
function openWithoutKey(parts: StoreParts): OpenStore {
  const file = keyFile(parts);
  const database = openDatabase(storeFile(parts), interimSealer(isPassing));
  const sealed = database.sealedElsewhere();
  if (sealed) {
    return {
      database,
      lines: [
        `${texts(sealed)} cannot be opened: the key, ${file}, is not there. Put it back and start again; until then no note and no IMEI can be added. If it is lost for good: npm start -- --new-key`,
      ],
    };
  }
  if (parts.makeKey === false) return { database, lines: [] };
  database.close();
  return openWith(makeKeyFile(file), parts);
}

const isBusy = (error: unknown): boolean =>
  error instanceof Error && 'code' in error && /^SQLITE_(BUSY|LOCKED)/.test(String(error.code));

/**
 * Seals under the first key what older ones sealed, and drops those from the key file once nothing is left under them.
 * False when another process has the store open: the older keys stay, and the next start does it.
 */
function settleKeys(database: Database, keys: Keys, parts: StoreParts): boolean {
  const [current, ...older] = keys;
  if (!older.length) return true;
  try {
    if (database.reseal().left) return true;
  } catch (error) {
    if (isBusy(error)) return false;
    throw error;
  }
  if (parts.key === undefined && (readKeyFile(keyFile(parts))?.length ?? 0) > 1)
    writeKeyFile(keyFile(parts), [current]);
  return true;
}

function openWith(keys: Keys, parts: StoreParts): OpenStore {
  const database = openDatabase(storeFile(parts), sealerOf(keys));
  try {
    const settled = settleKeys(database, keys, parts);
    const closed = database.sealedElsewhere();
    return {
      database,
      lines: [
        ...(closed
          ? [
              `${texts(closed)} cannot be opened: they were sealed under a key that is not here. With the old key as THIRDHAND_KEY_OLD they open again.`,
            ]
          : []),
        ...(settled && parts.keyOld !== undefined
          ? ['All that opens is sealed under the newest key now: THIRDHAND_KEY_OLD is no longer needed.']
          : []),
      ],
    };
  } catch (error) {
    database.close();
    throw error;
  }
}

/** Throws WrongSetting for a key that is none, and what `openDatabase` throws. */
export function openSealedStore(parts: StoreParts): OpenStore {
  mkdirSync(parts.data, { recursive: true, mode: 0o700 });
  dropUnfinished(keyFile(parts));
  let keys = keysOf(parts);
  if (!keys && parts.keyOld !== undefined && parts.makeKey !== false) {
    makeKeyFile(keyFile(parts));
    keys = keysOf(parts);
  }
  return keys ? openWith(keys, parts) : openWithoutKey(parts);
}

/**
 * Makes a new key and seals everything under it. The old key stays in the key file until that is done, so that a stop at
 * any moment loses nothing: the next start finishes. Throws WrongSetting where the key is a setting, and SQLITE_BUSY
 * where another process has the store open. Gives what to tell, one line each.
 */
export function changeKey(parts: StoreParts): string[] {
  if (parts.key !== undefined) {
    throw new WrongSetting(
      'THIRDHAND_KEY holds the key, so it is changed there: set a new one (openssl rand -base64 32 makes one), set the old one as THIRDHAND_KEY_OLD, and start.',
    );
  }
  // Throws where there is no store: none is made in a mistyped folder.
  readContents(storeFile(parts));
  const before = openSealedStore({ ...parts, makeKey: false });
  try {
    // Nothing is begun while somebody else goes on sealing under the old key.
    before.database.reseal();
  } finally {
    before.database.close();
  }
  const file = keyFile(parts);
  writeKeyFile(file, [newKey(), ...(keysOf(parts) ?? [])]);
  const { database, lines } = openSealedStore(parts);
  try {
    return [
      ...((readKeyFile(file)?.length ?? 0) > 1
        ? [`Not everything is sealed anew yet, so ${file} keeps the old key too; the next start goes on.`]
        : [`All that opens is sealed under the new key in ${file}; the old key is gone from it.`]),
      'Copies of the store made before open with the old key alone: make a new one, and a copy of the key.',
      ...lines,
    ];
  } finally {
    database.close();
  }
}

const kindWords: Readonly<Record<SealedKind, readonly [one: string, more: string]>> = {
  note: ['note', 'notes'],
  photo: ['photo', 'photos'],
  imei: ['IMEI', 'IMEIs'],
  reply: ['kept reply', 'kept replies'],
  choice: ['choice', 'choices'],
  record: ['record of encrypted rooms', 'records of encrypted rooms'],
};

/** What of the sealed texts cannot be opened, one line a kind. */
export const closedLines = (counts: readonly SealedCount[]): { line: string; lasting: boolean }[] =>
  counts
    .filter(({ closed }) => closed > 0)
    .map(({ kind, all, closed }) => ({
      line: `${closed} of ${all} ${kindWords[kind][all === 1 ? 0 : 1]} cannot be opened: the key is not here, or they were altered.`,
      lasting: kind === 'note' || kind === 'imei' || kind === 'record',
    }));
