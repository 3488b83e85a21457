/** What the encryption asks of the homeserver. */
export interface KeyServer {
  /** The answer, as JSON. Throws what went wrong. */
  call(
    method: 'GET' | 'POST' | 'PUT',
    path: string,
    body?: unknown,
    query?: Record<string, string>,
  ): Promise<unknown>;
  /** Whether the homeserver understood and said no. */
  isRefusal(error: unknown): boolean;
}

/** What stands under a path; null where there is nothing. */
export async function find(server: KeyServer, path: string): Promise<unknown> {
  try {
    return await server.call('GET', path);
  } catch (error) {
    if (server.isRefusal(error)) return null;
    throw error;
  }
}

export const pathOf = (...parts: readonly string[]): string =>
  `/_matrix/client/v3/${parts.map(encodeURIComponent).join('/')}`;
