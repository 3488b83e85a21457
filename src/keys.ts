/** The key that seals private notes and IMEIs: from a setting, or from a file that only its owner can read. */
import { chmodSync, readFileSync, writeFileSync } from 'node:fs';
import { keyOf, newKey, type SealKey } from '../shared/sealing/sealer.ts';
import { WrongSetting } from './settings.ts';

const read = (text: string, from: string): SealKey => {
  const bytes = Buffer.from(text.trim(), 'base64');
  if (bytes.length !== 32) throw new WrongSetting(`${from} is not a key: expected 32 bytes in base64.`);
  return keyOf(bytes);
};

/** The key of the setting when there is one, else of the file, which is made when it is not there. */
export function loadKey(setting: string | undefined, file: string): SealKey {
  if (setting !== undefined) return read(setting, 'THIRDHAND_KEY');
  try {
    const text = readFileSync(file, 'utf8');
    chmodSync(file, 0o600);
    return read(text, file);
  } catch (error) {
    if (!(error instanceof Error && 'code' in error && error.code === 'ENOENT')) throw error;
  }
  const key = newKey();
  writeFileSync(file, `${key.bytes.toString('base64')}\n`, { flag: 'wx', mode: 0o600 });
  return key;
}
