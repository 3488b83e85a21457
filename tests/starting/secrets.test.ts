/** Secrets from settings, from files, and from the credentials that systemd hands to a service. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { readSettings } from '../../src/environment/program-settings.ts';
import { readDiscordSettings } from '../../src/surfaces/discord/settings.ts';
import { readMatrixSettings } from '../../src/surfaces/matrix/settings.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-secrets-'));
});
afterEach(() => rmSync(folder, { recursive: true }));
const put = (name: string, text: string): string => {
  mkdirSync(join(folder, 'credentials'), { recursive: true });
  const file = join(folder, name);
  writeFileSync(file, `${text}\n`);
  return file;
};
const tokenOf = (id: string) => `${Buffer.from(id).toString('base64url')}.abc.def`;
const [ONE, TWO, THREE] = ['1234567890123456781', '1234567890123456782', '1234567890123456783'].map(tokenOf);
const KEY = Buffer.alloc(32, 7).toString('base64');

it('come from the setting first, then from the file it names, then from the credential of its name', () => {
  put('credentials/DISCORD_TOKEN', THREE ?? '');
  const CREDENTIALS_DIRECTORY = join(folder, 'credentials');
  const DISCORD_TOKEN_FILE = put('token', TWO ?? '');
  const tokenBy = (environment: NodeJS.ProcessEnv) => readDiscordSettings(environment)?.token;
  expect(tokenBy({ CREDENTIALS_DIRECTORY })).toBe(THREE);
  expect(tokenBy({ CREDENTIALS_DIRECTORY, DISCORD_TOKEN_FILE })).toBe(TWO);
  expect(tokenBy({ CREDENTIALS_DIRECTORY, DISCORD_TOKEN_FILE, DISCORD_TOKEN: ONE })).toBe(ONE);
  expect(tokenBy({ CREDENTIALS_DIRECTORY: join(folder, 'none') })).toBeUndefined();
});
it('are those of Matrix and the key, too', () => {
  const CREDENTIALS_DIRECTORY = join(folder, 'credentials');
  put('credentials/MATRIX_TOKEN', 'syt_secret');
  put('credentials/THIRDHAND_KEY', KEY);
  const MATRIX_HOMESERVER = 'https://matrix.shed.test';
  expect(readMatrixSettings({ MATRIX_HOMESERVER, CREDENTIALS_DIRECTORY })?.token).toBe('syt_secret');
  expect(readSettings([], { CREDENTIALS_DIRECTORY }, false).key).toBe(KEY);
  expect(readSettings([], { THIRDHAND_KEY_OLD_FILE: put('old', KEY) }, false).keyOld).toBe(KEY);
});
it('that cannot be read are told in one line, with the file and not with a secret', () => {
  for (const [name, read] of [
    ['DISCORD_TOKEN_FILE', readDiscordSettings],
    ['MATRIX_RECOVERY_KEY_FILE', readMatrixSettings],
    ['THIRDHAND_KEY_FILE', (environment: NodeJS.ProcessEnv) => readSettings([], environment, false)],
  ] as const)
    expect(() => read({ [name]: join(folder, 'none') })).toThrow(
      `${name}: ${join(folder, 'none')} cannot be read.`,
    );
});
