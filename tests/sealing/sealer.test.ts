import { randomBytes } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  CannotOpen,
  interimSealer,
  NoKey,
  newKey,
  sealerOf,
  sealKeyOf,
} from '../../shared/sealing/sealer.ts';

const key = newKey();
const sealer = sealerOf([key]);
const texts = fc.string({ unit: 'grapheme', maxLength: 500 });
const bodyOf = (sealed: string) => Buffer.from(sealed.split('.')[2] ?? '', 'base64url');

describe('sealing', () => {
  it('opens to the same text at the same place, whatever they are', () => {
    fc.assert(
      fc.property(texts, texts, (place, text) => {
        expect(sealer.open(place, sealer.seal(place, text))).toBe(text);
      }),
      { numRuns: 1000 },
    );
  });

  it('hides the text and the key', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme-ascii', minLength: 6, maxLength: 200 }), (text) => {
        const sealed = sealer.seal('note:1:terminal:Ines:1', text);
        expect(sealed).not.toContain(text);
        expect(bodyOf(sealed).includes(Buffer.from(text))).toBe(false);
        expect(sealed).not.toContain(key.bytes.toString('base64url'));
      }),
    );
  });

  it('never draws a nonce twice in 10,000, and no two sealings of a text are alike', () => {
    const nonces = new Set<string>();
    const bodies = new Set<string>();
    for (let n = 0; n < 10_000; n += 1) {
      const body = bodyOf(sealer.seal('p', 'the same'));
      nonces.add(body.subarray(0, 12).toString('hex'));
      bodies.add(body.subarray(12).toString('hex'));
    }
    expect(nonces.size).toBe(10_000);
    expect(bodies.size).toBe(10_000);
  });

  it('does not open at any other place', () => {
    fc.assert(
      fc.property(texts, texts, texts, (place, other, text) => {
        fc.pre(place !== other);
        expect(() => sealer.open(other, sealer.seal(place, text))).toThrow(CannotOpen);
      }),
    );
  });

  it('does not open once any one bit of nonce, text or tag is altered', () => {
    const sealed = sealer.seal('note:1:terminal:Ines:1', 'back glass');
    const body = bodyOf(sealed);
    for (let bit = 0; bit < body.length * 8; bit += 1) {
      const changed = Buffer.from(body);
      changed[bit >> 3] = (changed[bit >> 3] ?? 0) ^ (1 << (bit & 7));
      const whole = `s1.${key.id}.${changed.toString('base64url')}`;
      expect(() => sealer.open('note:1:terminal:Ines:1', whole)).toThrow(CannotOpen);
    }
  });

  it('does not open what is torn or of another kind, and throws nothing but CannotOpen', () => {
    const sealed = sealer.seal('p', 'back glass');
    for (let length = 0; length < sealed.length; length += 1)
      expect(() => sealer.open('p', sealed.slice(0, length))).toThrow(CannotOpen);
    fc.assert(
      fc.property(
        fc.oneof(
          texts,
          texts.map((text) => `s1.${key.id}.${text}`),
        ),
        (text) => {
          expect(() => sealer.open('p', text)).toThrow(CannotOpen);
        },
      ),
    );
  });

  it('says nothing of the text when it cannot be opened', () => {
    const sealed = sealer.seal('p', 'Quincewort');
    for (const wrong of [() => sealer.open('q', sealed), () => sealerOf([newKey()]).open('p', sealed)])
      expect(wrong).toThrow(/^(?!.*Quincewort)/s);
  });
});

describe('keys', () => {
  it('are 32 bytes; their id is no part of them', () => {
    expect(() => sealKeyOf(randomBytes(31))).toThrow(RangeError);
    expect(() => sealKeyOf(randomBytes(33))).toThrow(RangeError);
    expect(key.id).toMatch(/^[0-9a-f]{8}$/);
    expect(key.bytes.toString('hex')).not.toContain(key.id);
    expect(newKey().bytes.equals(newKey().bytes)).toBe(false);
  });

  it('seal with the first, and open with any', () => {
    const [older, other] = [newKey(), newKey()];
    const before = sealerOf([older]).seal('p', 'kept');
    const both = sealerOf([key, older]);
    expect(both.open('p', before)).toBe('kept');
    expect([both.isStale(before), both.hasKeyOf(before)]).toEqual([true, true]);
    const after = both.seal('p', 'kept');
    expect([both.isStale(after), sealer.open('p', after)]).toEqual([false, 'kept']);
    expect(() => sealer.open('p', before)).toThrow(older.id);
    expect(sealerOf([key, other]).hasKeyOf(before)).toBe(false);
  });
});

describe('a sealer without its key', () => {
  it('seals what need not last, and nothing else', () => {
    const interim = interimSealer((place) => place.startsWith('request:'));
    expect(interim.open('request:1:r', interim.seal('request:1:r', 'a reply'))).toBe('a reply');
    expect(() => interim.seal('note:1:terminal:Ines:1', 'a note')).toThrow(NoKey);
    expect(() => interim.open('p', sealer.seal('p', 'x'))).toThrow(CannotOpen);
  });
});
