import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { isAllowed, readMatrixSettings, serverOf } from '../../src/surfaces/matrix/settings.ts';

const base = { MATRIX_HOMESERVER: 'https://matrix.shed.test/', MATRIX_TOKEN: 'syt_secret' };

describe('the settings', () => {
  it('are none where nothing is set', () => {
    expect(readMatrixSettings({ PATH: '/bin', MATRIX_HOMESERVER: '', MATRIX_TOKEN: '' })).toBeNull();
  });

  it('have sensible values for what is not said', () => {
    expect(readMatrixSettings(base)).toEqual({
      homeserver: 'https://matrix.shed.test',
      token: 'syt_secret',
      allow: null,
      prefix: '!th',
      stewardLevel: 50,
      recoveryKey: null,
      adminRoom: null,
    });
  });

  it('take servers and people', () => {
    const read = readMatrixSettings({
      ...base,
      MATRIX_ALLOW: 'shed.test, @moss:example.org  other.test:8448',
      MATRIX_PREFIX: '!hand',
      MATRIX_STEWARD_LEVEL: '100',
    });
    expect(read).toMatchObject({
      allow: ['shed.test', '@moss:example.org', 'other.test:8448'],
      prefix: '!hand',
      stewardLevel: 100,
      recoveryKey: null,
      adminRoom: null,
    });
  });

  it('take the token from a file, where none is given itself', () => {
    const folder = mkdtempSync(join(tmpdir(), 'thirdhand-token-'));
    const file = join(folder, 'token');
    writeFileSync(file, 'syt_filed\n');
    const filed = { MATRIX_HOMESERVER: base.MATRIX_HOMESERVER, MATRIX_TOKEN_FILE: file };
    expect(readMatrixSettings(filed)?.token).toBe('syt_filed');
    expect(readMatrixSettings({ ...filed, MATRIX_TOKEN: 'syt_secret' })?.token).toBe('syt_secret');
    expect(() => readMatrixSettings({ ...filed, MATRIX_TOKEN_FILE: join(folder, 'none') })).toThrow(
      /^MATRIX_TOKEN_FILE: .* cannot be read/,
    );
    rmSync(folder, { recursive: true });
  });

  it.each([
    [{ MATRIX_TOKEN: 'syt_secret' }, /^MATRIX_HOMESERVER: expected the address/],
    [{ ...base, MATRIX_HOMESERVER: 'matrix.shed.test' }, /^MATRIX_HOMESERVER: expected the address/],
    [{ ...base, MATRIX_HOMESERVER: 'ftp://matrix.shed.test' }, /^MATRIX_HOMESERVER: expected the address/],
    [{ MATRIX_HOMESERVER: 'https://matrix.shed.test' }, /^MATRIX_TOKEN: expected the access token/],
    [{ ...base, MATRIX_ALLOW: '@moss' }, /^MATRIX_ALLOW: expected servers like/],
    [{ ...base, MATRIX_PREFIX: '/th' }, /^MATRIX_PREFIX: expected a short word/],
    [{ ...base, MATRIX_STEWARD_LEVEL: 'high' }, /^MATRIX_STEWARD_LEVEL: expected a power level/],
  ])('say in one line what would be right: %j', (environment, line) => {
    const read = () => readMatrixSettings(environment);
    expect(read).toThrow(line);
    expect(read).not.toThrow(/syt_secret/);
  });
});

describe('the allow-list', () => {
  const own = '@thirdhand:shed.test';
  it("is the bot's own server where none is given", () => {
    expect(isAllowed('@ines:shed.test', own, null)).toBe(true);
    expect(isAllowed('@ines:SHED.test', own, null)).toBe(true);
    expect(isAllowed('@ines:other.test', own, null)).toBe(false);
    expect(isAllowed('@ines:evil-shed.test', own, null)).toBe(false);
  });
  it('names servers and people, and is closed where it is empty', () => {
    const allow = ['other.test', '@moss:example.org'];
    expect(isAllowed('@anyone:other.test', own, allow)).toBe(true);
    expect(isAllowed('@moss:example.org', own, allow)).toBe(true);
    expect(isAllowed('@ines:example.org', own, allow)).toBe(false);
    expect(isAllowed('@ines:shed.test', own, allow)).toBe(false);
    expect(isAllowed('@ines:sub.other.test', own, allow)).toBe(false);
    expect(isAllowed('@ines:shed.test', own, [])).toBe(false);
    expect(isAllowed('@ines:anywhere.test', own, ['*'])).toBe(true);
  });
  it('reads the server out of an id', () => {
    expect(serverOf('@ines:shed.test:8448')).toBe('shed.test:8448');
    // Rooms of version 12 have no server in their id.
    expect(serverOf('!abc')).toBe('');
  });
});
