/**
 * Secrets that an account keeps at its homeserver, encrypted under the recovery key (Matrix specification, "Secret storage",
 * `m.secret_storage.v1.aes-hmac-sha2`).
 */
import { createDecipheriv, createHmac, hkdfSync, timingSafeEqual } from 'node:crypto';
import { z } from 'zod';
import { find, type KeyServer, pathOf } from './key-server.ts';

const sealedSchema = z.object({ iv: z.string(), ciphertext: z.string(), mac: z.string() });
type SealedSecret = z.infer<typeof sealedSchema>;
const secretSchema = z.object({ encrypted: z.record(z.string(), sealedSchema) });
const defaultSchema = z.object({ key: z.string() });
const keySchema = z.object({ iv: z.string().optional(), mac: z.string().optional() });

const keysFor = (key: Buffer, name: string) => {
  const bytes = Buffer.from(hkdfSync('sha256', key, Buffer.alloc(32), name, 64));
  return { aes: bytes.subarray(0, 32), hmac: bytes.subarray(32) };
};
const macOf = (key: Buffer, ciphertext: Buffer): Buffer =>
  createHmac('sha256', key).update(ciphertext).digest();
const isSame = (one: Buffer, other: Buffer): boolean =>
  one.length === other.length && timingSafeEqual(one, other);
const fromBase64 = (text: string): Buffer => Buffer.from(text, 'base64');

/** The secret; null under another key. */
function openSecret(key: Buffer, name: string, { iv, ciphertext, mac }: SealedSecret): string | null {
  const { aes, hmac } = keysFor(key, name);
  const bytes = fromBase64(ciphertext);
  if (!isSame(macOf(hmac, bytes), fromBase64(mac))) return null;
  const decipher = createDecipheriv('aes-256-ctr', aes, fromBase64(iv));
  return Buffer.concat([decipher.update(bytes), decipher.final()]).toString('utf8');
}

/** Whether it is the key: 32 zero bytes encrypted under it give the MAC that was kept with its description. */
function isKey(key: Buffer, { iv, mac }: z.infer<typeof keySchema>): boolean {
  if (iv === undefined || mac === undefined) return true;
  const { aes, hmac } = keysFor(key, '');
  const cipher = createDecipheriv('aes-256-ctr', aes, fromBase64(iv));
  const zeros = Buffer.concat([cipher.update(Buffer.alloc(32)), cipher.final()]);
  return isSame(macOf(hmac, zeros), fromBase64(mac));
}

export interface SecretStorage {
  /** A secret by its name; null where there is none under this key. */
  secret(name: string): Promise<string | null>;
}

/** Null where the account has no secret storage, or the key is not the one to it. */
export async function openSecretStorage(
  server: KeyServer,
  own: string,
  key: Buffer,
): Promise<SecretStorage | null> {
  const data = (type: string) => find(server, pathOf('user', own, 'account_data', type));
  const id = defaultSchema.safeParse(await data('m.secret_storage.default_key')).data?.key;
  if (id === undefined) return null;
  const described = keySchema.safeParse(await data(`m.secret_storage.key.${id}`)).data;
  if (!described || !isKey(key, described)) return null;
  return {
    secret: async (name) => {
      const kept = secretSchema.safeParse(await data(name)).data?.encrypted[id];
      return kept ? openSecret(key, name, kept) : null;
    },
  };
}
