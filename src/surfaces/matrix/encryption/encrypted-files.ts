/** Files in encrypted rooms: encrypted with a key of their own, which stands in the message (specification, "Sending encrypted attachments"). */
import { z } from 'zod';
import type { CryptoLibrary } from './crypto-library.ts';

const infoSchema = z.record(z.string(), z.unknown());

export const encryptedFilesOf = ({ Attachment, EncryptedAttachment }: CryptoLibrary) => ({
  /** What is to be uploaded, and the `file` of the message but for its address. */
  encrypt: (bytes: Buffer): { bytes: Buffer; info: Record<string, unknown> } => {
    const sealed = Attachment.encrypt(bytes);
    const info: unknown = JSON.parse(sealed.mediaEncryptionInfo ?? '{}');
    return { bytes: Buffer.from(sealed.encryptedData), info: infoSchema.parse(info) };
  },
  /** Throws where the bytes are not what the message says. */
  decrypt: (bytes: Buffer, info: object): Buffer =>
    Buffer.from(Attachment.decrypt(new EncryptedAttachment(bytes, JSON.stringify(info)))),
});
