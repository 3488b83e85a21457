/** Opens the encryption of the bot's account where it can be had, and says what keeps it from working. */
import { CannotOpen, NoKey } from '../../../shared/sealing/sealer.ts';
import type { Log } from '../../environment/log.ts';
import type { Account } from './account.ts';
import { type Encryption, type EncryptionParts, openEncryption } from './encryption/encryption.ts';

export type OwnEncryption =
  | { encryption: Encryption; without: null }
  /** Why there is none, in a few words. */
  | { encryption: null; without: string };

export async function openOwnEncryption(
  { id, device }: Account,
  parts: Omit<EncryptionParts, 'own' | 'device'>,
): Promise<OwnEncryption> {
  if (device === null) return { encryption: null, without: 'the token belongs to no device' };
  try {
    return { encryption: await openEncryption({ ...parts, own: id, device }), without: null };
  } catch (error) {
    if (error instanceof CannotOpen)
      return { encryption: null, without: 'its keys were sealed under a key that is not here' };
    if (error instanceof NoKey) return { encryption: null, without: "the store's key is not here" };
    throw error;
  }
}

/** What whoever runs the bot has to know about its device; nothing where all is well. */
export function tellStanding({ standing }: Encryption, log: Log): void {
  const clients = 'Until then many clients show nothing that it says in encrypted rooms';
  switch (standing()) {
    case 'signed':
      return;
    case 'wants-recovery-key':
      log(
        'matrix',
        `the account has cross-signing keys that are not here: set MATRIX_RECOVERY_KEY. ${clients}`,
      );
      return;
    case 'wrong-recovery-key':
      log(
        'matrix',
        `MATRIX_RECOVERY_KEY does not open the keys of this account: set the one that its client showed. ${clients}`,
      );
      return;
    case 'refused':
      log(
        'matrix',
        `the homeserver does not take cross-signing keys from the token alone: log the account in with a client, set up its recovery there, and set MATRIX_RECOVERY_KEY. ${clients}`,
      );
  }
}
