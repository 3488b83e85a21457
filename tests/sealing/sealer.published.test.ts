/** AES-256-GCM as the sealer uses it, against published test vectors, and against another implementation's interface. */
import { webcrypto } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { sealerOf, sealKeyOf } from '../../shared/sealing/sealer.ts';

const hex = (text: string) => Buffer.from(text, 'hex');

/** What the sealer would have written, had it drawn this nonce. */
const sealedAs = (id: string, nonce: Buffer, ciphertext: Buffer, tag: Buffer) =>
  `s1.${id}.${Buffer.concat([nonce, ciphertext, tag]).toString('base64url')}`;

describe('opens what others sealed', () => {
  it.each([
    {
      // McGrew and Viega, "The Galois/Counter Mode of Operation (GCM)", submission to NIST, Appendix B, Test Case 13.
      source: 'GCM specification, Test Case 13',
      key: hex('00'.repeat(32)),
      nonce: hex('00'.repeat(12)),
      place: '',
      text: '',
      ciphertext: hex(''),
      tag: hex('530f8afbc74536b9a963b4f1c4cb738b'),
    },
    {
      // The same, Test Case 14: one block of zeros, which is a text of 16 NULs.
      source: 'GCM specification, Test Case 14',
      key: hex('00'.repeat(32)),
      nonce: hex('00'.repeat(12)),
      place: '',
      text: '\0'.repeat(16),
      ciphertext: hex('cea7403d4d606b6e074ec5d3baf39d18'),
      tag: hex('d0d1c8a799996bf0265b98b5d48ab919'),
    },
    {
      // RFC 7516, Appendix A.1: A256GCM with a text as its additional data.
      source: 'RFC 7516, Appendix A.1',
      key: Buffer.from([
        177, 161, 244, 128, 84, 143, 225, 115, 63, 180, 3, 255, 107, 154, 212, 246, 138, 7, 110, 91, 112, 46,
        34, 105, 47, 130, 203, 46, 122, 234, 64, 252,
      ]),
      nonce: Buffer.from([227, 197, 117, 252, 2, 219, 233, 68, 180, 225, 77, 219]),
      place: 'eyJhbGciOiJSU0EtT0FFUCIsImVuYyI6IkEyNTZHQ00ifQ',
      text: 'The true sign of intelligence is not knowledge but imagination.',
      ciphertext: Buffer.from(
        '5eym8TW_c8SuK0ltJ3rpYIzOeDQz7TALvtu6UG9oMo4vpzs9tX_EFShS8iB7j6jiSdiwkIr3ajwQzaBtQD_A',
        'base64url',
      ),
      tag: Buffer.from('XFBoMYUZodetZdvTiFvSkQ', 'base64url'),
    },
  ])('$source', ({ key: bytes, nonce, place, text, ciphertext, tag }) => {
    const key = sealKeyOf(bytes);
    expect(sealerOf([key]).open(place, sealedAs(key.id, nonce, ciphertext, tag))).toBe(text);
    const altered = Buffer.from(tag);
    altered[15] = (altered[15] ?? 0) ^ 1;
    expect(() => sealerOf([key]).open(place, sealedAs(key.id, nonce, ciphertext, altered))).toThrow(
      'altered',
    );
  });
});

describe('agrees with the Web Cryptography API (W3C), which is given key, nonce and place apart', () => {
  const bytes = fc.uint8Array({ minLength: 32, maxLength: 32 });
  const texts = fc.string({ unit: 'grapheme', maxLength: 300 });
  const imported = (key: Uint8Array) =>
    webcrypto.subtle.importKey('raw', key, 'AES-GCM', false, ['encrypt', 'decrypt']);
  const algorithm = (nonce: Uint8Array, place: string) => ({
    name: 'AES-GCM',
    iv: nonce,
    additionalData: new TextEncoder().encode(place),
    tagLength: 128,
  });

  it('on what the sealer sealed', async () => {
    await fc.assert(
      fc.asyncProperty(bytes, texts, texts, async (raw, place, text) => {
        const sealed = sealerOf([sealKeyOf(Buffer.from(raw))]).seal(place, text);
        const body = Buffer.from(sealed.split('.')[2] ?? '', 'base64url');
        const opened = await webcrypto.subtle.decrypt(
          algorithm(body.subarray(0, 12), place),
          await imported(raw),
          body.subarray(12),
        );
        expect(new TextDecoder().decode(opened)).toBe(text);
      }),
      { numRuns: 200 },
    );
  });

  it('on what it seals itself', async () => {
    const nonces = fc.uint8Array({ minLength: 12, maxLength: 12 });
    await fc.assert(
      fc.asyncProperty(bytes, nonces, texts, texts, async (raw, nonce, place, text) => {
        const key = sealKeyOf(Buffer.from(raw));
        const sealed = Buffer.from(
          await webcrypto.subtle.encrypt(
            algorithm(nonce, place),
            await imported(raw),
            new TextEncoder().encode(text),
          ),
        );
        const whole = sealedAs(key.id, Buffer.from(nonce), sealed.subarray(0, -16), sealed.subarray(-16));
        expect(sealerOf([key]).open(place, whole)).toBe(text);
      }),
      { numRuns: 200 },
    );
  });
});
