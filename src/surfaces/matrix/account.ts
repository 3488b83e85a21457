/** Who the bot's token is of, asked of a homeserver that may be away. */
import { setTimeout as pause } from 'node:timers/promises';
import type * as Sdk from 'matrix-bot-sdk';
import { z } from 'zod';
import type { Log } from '../../environment/log.ts';
import { WrongSetting } from '../../environment/program-settings.ts';
import { type SurfaceWatch, unwatched } from '../surface-watch.ts';
import type { KeyServer } from './encryption/key-server.ts';
import { loadSdk } from './load-sdk.ts';
import { backoffMs, type NetworkError, networkErrorOf } from './network-error.ts';
import type { MatrixSettings } from './settings.ts';

const accountSchema = z.object({ user_id: z.string(), device_id: z.string().optional() });
export interface Account {
  id: string;
  /** Null for a token that belongs to no device. */
  device: string | null;
}

export const badToken = ({ homeserver }: MatrixSettings): string =>
  `MATRIX_TOKEN: ${homeserver} does not accept it (any more). Log the bot's account in again, and set the new token.`;

function wordsOf(fault: NetworkError): string {
  switch (fault.kind) {
    case 'limited':
      return 'it asks for patience';
    case 'away':
      return `it cannot be reached (${fault.what})`;
    case 'token':
      return 'the token is not accepted';
    case 'refused':
      return `it refuses (${fault.code})`;
    case 'ours':
      return 'something went wrong here';
  }
}

/** A client that only asks. */
export const plainClient = ({ homeserver, token }: MatrixSettings): Sdk.MatrixClient =>
  new (loadSdk().MatrixClient)(homeserver, token);

/**
 * Who the token is of. Waits for a homeserver that is away, so many tries. Throws WrongSetting for a token that is not
 * accepted.
 */
export async function whoAmI(
  settings: MatrixSettings,
  tries: number,
  onFault: (fault: NetworkError) => void,
): Promise<Account> {
  const client = plainClient(settings);
  for (let failures = 0; ; ) {
    try {
      const answer: unknown = await client.doRequest('GET', '/_matrix/client/v3/account/whoami');
      const { user_id, device_id } = accountSchema.parse(answer);
      return { id: user_id, device: device_id ?? null };
    } catch (error) {
      const fault = networkErrorOf(error);
      if (fault.kind === 'token') throw new WrongSetting(badToken(settings));
      failures += 1;
      if (failures >= tries || fault.kind === 'ours' || fault.kind === 'refused') {
        const what = fault.kind === 'ours' ? 'it does not answer as a homeserver does' : wordsOf(fault);
        throw new WrongSetting(`MATRIX_HOMESERVER: ${settings.homeserver} cannot be used: ${what}.`);
      }
      onFault(fault);
      await pause(fault.kind === 'limited' ? fault.waitMs : backoffMs(failures));
    }
  }
}

/** Says once that the homeserver is away, and once that it is back. */
export function faultLog(log: Log, watch: SurfaceWatch = unwatched): (fault: NetworkError | null) => void {
  let away: NetworkError['kind'] | null = null;
  return (fault) => {
    if (fault?.kind === 'limited' || (fault?.kind ?? null) === away) return;
    away = fault?.kind ?? null;
    watch.connected('matrix', fault === null);
    log('matrix', fault ? `the homeserver: ${wordsOf(fault)}; trying again` : 'the homeserver is back');
  };
}

/** The homeserver as the encryption asks it. */
export const keyServerOf = (connection: () => Sdk.MatrixClient): KeyServer => ({
  call: (method, path, body = null, query) => connection().doRequest(method, path, query ?? null, body),
  isRefusal: (error) => networkErrorOf(error).kind === 'refused',
});
