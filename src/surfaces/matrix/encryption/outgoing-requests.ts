/** Carries the encryption library's requests to the homeserver, and its answers back. */
import type { CryptoLibrary } from './crypto-library.ts';
import { type KeyServer, pathOf } from './key-server.ts';

export type Machine = InstanceType<CryptoLibrary['OlmMachine']>;

/** A request of the library: what is in it depends on its type. */
export interface LibraryRequest {
  readonly id?: string | undefined;
  readonly type: number;
  readonly body: string;
  readonly event_type?: string;
  readonly txn_id?: string;
  readonly room_id?: string;
  readonly version?: string;
}

export interface OutgoingRequests {
  /** Sends one, and tells the library of the answer. */
  send(request: LibraryRequest): Promise<void>;
  /** Sends all that wait; those that fail wait on, and the error is thrown at the end. */
  sendAll(): Promise<void>;
}

export function outgoingRequestsOf(
  library: CryptoLibrary,
  machine: Machine,
  server: KeyServer,
  flush: () => void,
): OutgoingRequests {
  const { RequestType } = library;

  const post = (request: LibraryRequest): Promise<unknown> => {
    const body: unknown = JSON.parse(request.body);
    const transaction = request.txn_id ?? request.id ?? '';
    switch (request.type) {
      case RequestType.KeysUpload:
        return server.call('POST', pathOf('keys', 'upload'), body);
      case RequestType.KeysQuery:
        return server.call('POST', pathOf('keys', 'query'), body);
      case RequestType.KeysClaim:
        return server.call('POST', pathOf('keys', 'claim'), body);
      case RequestType.SignatureUpload:
        return server.call('POST', pathOf('keys', 'signatures', 'upload'), body);
      case RequestType.ToDevice:
        return server.call('PUT', pathOf('sendToDevice', request.event_type ?? '', transaction), body);
      case RequestType.RoomMessage: {
        const path = pathOf('rooms', request.room_id ?? '', 'send', request.event_type ?? '', transaction);
        return server.call('PUT', path, body);
      }
      case RequestType.KeysBackup:
        return server.call('PUT', pathOf('room_keys', 'keys'), body, { version: request.version ?? '' });
      default:
        throw new Error(`the encryption library asks for an unknown request: ${request.type}`);
    }
  };

  const send = async (request: LibraryRequest): Promise<void> => {
    // What the other side will know must be kept here first: a key that was used twice, or was lost, helps nobody.
    flush();
    const answer = await post(request);
    if (request.id !== undefined)
      await machine.markRequestAsSent(request.id, request.type, JSON.stringify(answer));
  };

  return {
    send,
    sendAll: async () => {
      let failed: { error: unknown } | null = null;
      for (const request of await machine.outgoingRequests()) {
        try {
          await send(request);
        } catch (error) {
          failed = { error };
        }
      }
      if (failed) throw failed.error;
    },
  };
}
