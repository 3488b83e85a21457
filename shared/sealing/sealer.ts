/**
 * Sealing: text that must not be read from the file, its copies or its journal. AES-256-GCM (NIST SP 800-38D) with a random
 * nonce of 96 bits each time. The place of the text is its additional data, so that a sealed text moved to another place
 * does not open.
 */
import { createCipheriv, createDecipheriv, createHash, randomBytes } from 'node:crypto';

const NONCE_BYTES = 12;
const TAG_BYTES = 16;
const KEY_BYTES = 32;
const FORMAT = 's1';

/** A 256-bit key. */
export interface SealKey {
  /** Names the key in what it sealed; says nothing of it. */
  readonly id: string;
  readonly bytes: Buffer;
}

/** The text was sealed under a key that is not here, or at another place, or was altered. */
export class CannotOpen extends Error {
  constructor(reason: string) {
    super(`a sealed text cannot be opened: ${reason}`);
    this.name = 'CannotOpen';
  }
}

/** What must last cannot be sealed now: the key to the store is not here. */
export class NoKey extends Error {
  constructor() {
    super('the key to the store is not here');
    this.name = 'NoKey';
  }
}

export interface Sealer {
  /** `place` says what the text is, such as `note:1:terminal:Ines:4`; the same is needed to open it. May throw NoKey. */
  seal(place: string, text: string): string;
  /** Throws CannotOpen. */
  open(place: string, sealed: string): string;
  /** True when the text was sealed under another key than the one now in use. */
  isStale(sealed: string): boolean;
  /** True when the key that it was sealed under is here. */
  hasKeyOf(sealed: string): boolean;
}

/** A key from its 32 bytes. RangeError for another length. */
export function sealKeyOf(bytes: Buffer): SealKey {
  if (bytes.length !== KEY_BYTES) throw new RangeError(`a key is ${KEY_BYTES} bytes, not ${bytes.length}`);
  return { id: createHash('sha256').update('thirdhand key').update(bytes).digest('hex').slice(0, 8), bytes };
}
export const newKey = (): SealKey => sealKeyOf(randomBytes(KEY_BYTES));

const keyIdOf = (sealed: string): string | undefined => sealed.split('.')[1];

/** Seals under the first key; opens what any of them sealed. */
export function sealerOf(keys: readonly [SealKey, ...SealKey[]]): Sealer {
  const [current] = keys;
  return {
    seal: (place, text) => {
      const nonce = randomBytes(NONCE_BYTES);
      const cipher = createCipheriv('aes-256-gcm', current.bytes, nonce, { authTagLength: TAG_BYTES });
      cipher.setAAD(Buffer.from(place, 'utf8'));
      const body = Buffer.concat([cipher.update(text, 'utf8'), cipher.final()]);
      return `${FORMAT}.${current.id}.${Buffer.concat([nonce, body, cipher.getAuthTag()]).toString('base64url')}`;
    },
    open: (place, sealed) => {
      const [format, id, body] = sealed.split('.');
      if (format !== FORMAT || id === undefined || body === undefined) throw new CannotOpen('it is torn');
      const key = keys.find((one) => one.id === id);
      if (!key) throw new CannotOpen(`its key (${id.slice(0, 8)}) is not here`);
      const bytes = Buffer.from(body, 'base64url');
      if (bytes.length < NONCE_BYTES + TAG_BYTES) throw new CannotOpen('it is torn');
      const decipher = createDecipheriv('aes-256-gcm', key.bytes, bytes.subarray(0, NONCE_BYTES), {
        authTagLength: TAG_BYTES,
      });
      decipher.setAAD(Buffer.from(place, 'utf8'));
      decipher.setAuthTag(bytes.subarray(-TAG_BYTES));
      try {
        return (
          decipher.update(bytes.subarray(NONCE_BYTES, -TAG_BYTES), undefined, 'utf8') + decipher.final('utf8')
        );
      } catch {
        throw new CannotOpen('it was altered or belongs elsewhere');
      }
    },
    isStale: (sealed) => keyIdOf(sealed) !== current.id,
    hasKeyOf: (sealed) => keys.some(({ id }) => id === keyIdOf(sealed)),
  };
}

/**
 * For a store whose key is missing: seals what `passing` says by its place need not outlive this run, and throws NoKey for
 * the rest, so that nothing is sealed under a key that is kept nowhere.
 */
export function interimSealer(passing: (place: string) => boolean): Sealer {
  const sealer = sealerOf([newKey()]);
  return {
    ...sealer,
    seal: (place, text) => {
      if (!passing(place)) throw new NoKey();
      return sealer.seal(place, text);
    },
  };
}
