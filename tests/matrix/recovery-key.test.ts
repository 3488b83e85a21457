/** Recovery keys, against how an independent library writes them. */
import { createHash } from 'node:crypto';
import { encodeRecoveryKey } from 'matrix-js-sdk/lib/crypto-api/index.js';
import { expect, it } from 'vitest';
import { readRecoveryKey } from '../../src/surfaces/matrix/encryption/recovery-key.ts';

const keys = Array.from({ length: 50 }, (_, n) => createHash('sha256').update(`key ${n}`).digest());

it('are read as they are written, with and without their spaces', () => {
  for (const key of keys) {
    const written = encodeRecoveryKey(key) ?? '';
    expect(readRecoveryKey(written)?.equals(key)).toBe(true);
    expect(readRecoveryKey(` ${written.replaceAll(' ', '')}\n`)?.equals(key)).toBe(true);
  }
});

it('with a slip in them are none', () => {
  for (const key of keys) {
    const written = (encodeRecoveryKey(key) ?? '').replaceAll(' ', '');
    const slip = written.slice(0, 20) + (written[20] === 'a' ? 'b' : 'a') + written.slice(21);
    expect(readRecoveryKey(slip)).toBeNull();
    expect(readRecoveryKey(written.slice(1))).toBeNull();
  }
  for (const text of ['', 'recovery', '0OIl', '1111', 'EsTc EsTc']) expect(readRecoveryKey(text)).toBeNull();
});
