/**
 * A recovery key as people write it down: 32 bytes with a mark and a parity byte in base58, in groups of four (Matrix
 * specification, "Key representation").
 */
const ALPHABET = '123456789ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnopqrstuvwxyz';
const MARK = [0x8b, 0x01];
const KEY_BYTES = 32;

function base58(text: string): Buffer | null {
  let value = 0n;
  for (const letter of text) {
    const digit = ALPHABET.indexOf(letter);
    if (digit < 0) return null;
    value = value * 58n + BigInt(digit);
  }
  const hex = value.toString(16);
  return Buffer.from(hex.length % 2 ? `0${hex}` : hex, 'hex');
}

/** The 32 bytes; null for a text that is no recovery key, or has a slip in it. */
export function readRecoveryKey(text: string): Buffer | null {
  const bytes = base58(text.replace(/\s/g, ''));
  if (bytes?.length !== MARK.length + KEY_BYTES + 1) return null;
  if (bytes[0] !== MARK[0] || bytes[1] !== MARK[1]) return null;
  const parity = bytes.reduce((sum, byte) => sum ^ byte, 0);
  return parity === 0 ? bytes.subarray(MARK.length, MARK.length + KEY_BYTES) : null;
}
