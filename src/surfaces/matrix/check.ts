/** What `--check` says of Matrix. */
import { WrongSetting } from '../../environment/program-settings.ts';
import { type Account, keyServerOf, plainClient, whoAmI } from './account.ts';
import { type Published, publishedKeys } from './encryption/cross-signing.ts';
import { loadCrypto } from './encryption/crypto-library.ts';
import type { MatrixSettings } from './settings.ts';

/** Whether other clients will trust the bot's device, and what to do where they will not. */
function deviceLine(device: string, { account, device: has, signed }: Published, recovery: boolean): string {
  if (signed) return `Matrix: encrypted rooms work; the device ${device} is cross-signed.`;
  if (!account)
    return `Matrix: encrypted rooms will work: the first start makes the account's keys and cross-signs the device ${device}.`;
  const keys = has ? 'is not cross-signed' : 'has no keys yet';
  return recovery
    ? `Matrix: the device ${device} ${keys}; the next start signs it with MATRIX_RECOVERY_KEY.`
    : `Matrix: the device ${device} ${keys}, so many clients show nothing that it says in encrypted rooms. The account has cross-signing keys: set MATRIX_RECOVERY_KEY, and start again.`;
}

async function encryptionLines({ id, device }: Account, settings: MatrixSettings): Promise<string[]> {
  if (device === null) return ['Matrix: runs without encryption: the token belongs to no device.'];
  await loadCrypto();
  const client = plainClient(settings);
  const published = await publishedKeys(
    keyServerOf(() => client),
    id,
    device,
  );
  const backup =
    published.backup === null
      ? 'the account has no backup of room keys'
      : `the account backs room keys up (version ${published.backup})${settings.recoveryKey ? '' : '; without MATRIX_RECOVERY_KEY the bot does not take part'}`;
  return [deviceLine(device, published, settings.recoveryKey !== null), `Matrix: ${backup}.`];
}

/** A line each; `sound` is false when the bot could not run. Changes nothing. */
export async function checkMatrix(settings: MatrixSettings): Promise<{ sound: boolean; lines: string[] }> {
  try {
    const account = await whoAmI(settings, 1, () => {});
    const allowed = settings.allow?.join(', ') || (settings.allow ? 'nobody' : 'its own server');
    return {
      sound: true,
      lines: [
        `Matrix: ${settings.homeserver} knows the bot as ${account.id}.`,
        `Matrix: takes invites from ${allowed}.`,
        ...(await encryptionLines(account, settings)),
      ],
    };
  } catch (error) {
    if (!(error instanceof WrongSetting)) throw error;
    return { sound: false, lines: [error.message] };
  }
}
