/** What went wrong between the bot and its homeserver, and what to do about it. Nothing here holds the token. */
import { z } from 'zod';

export type NetworkError =
  /** Too many requests: again after so many milliseconds. */
  | { kind: 'limited'; waitMs: number }
  /** The homeserver is away or cannot answer now. */
  | { kind: 'away'; what: string }
  /** The access token is not accepted (any more). */
  | { kind: 'token' }
  /** It was understood and refused: trying again changes nothing. */
  | { kind: 'refused'; code: string; what: string }
  /** Not the homeserver's: a fault of the bot itself. */
  | { kind: 'ours' };

const shape = z.object({
  errcode: z.string().optional().catch(undefined),
  error: z.string().optional().catch(undefined),
  statusCode: z.number().optional().catch(undefined),
  retryAfterMs: z.number().nonnegative().optional().catch(undefined),
  code: z.string().optional().catch(undefined),
  headers: z.record(z.string(), z.unknown()).optional().catch(undefined),
});

/** Codes that Node gives errors of sockets, of its resolver and of TLS (Node.js, "Errors", "Common system errors"; TLS: OpenSSL). */
const CONNECTION =
  /^(ECONN(REFUSED|RESET|ABORTED)|E(SOCKET)?TIMEDOUT|ENOTFOUND|EAI_AGAIN|EPIPE|EPROTO|E(HOST|NET)(UNREACH|DOWN)|EADDRNOTAVAIL|CERT_.*|.*SELF_SIGNED.*|UNABLE_TO_.*|ERR_TLS_.*)$/;

const DEFAULT_WAIT_MS = 2000;
const LONGEST_WAIT_MS = 5 * 60_000;

/** The seconds of a Retry-After header (RFC 9110, 10.2.3), where it gives seconds. */
const retryAfter = (headers: Record<string, unknown> | undefined): number | undefined => {
  const seconds = Number(headers?.['retry-after']);
  return Number.isFinite(seconds) && seconds > 0 ? seconds * 1000 : undefined;
};

/** Reads what the SDK throws: a MatrixError, the answer of a proxy as it came, or an error of the connection. */
export function networkErrorOf(thrown: unknown): NetworkError {
  const read = shape.safeParse(thrown);
  if (!read.success) return { kind: 'ours' };
  const { errcode, error, statusCode = 0, retryAfterMs, code, headers } = read.data;
  if (errcode === 'M_LIMIT_EXCEEDED' || statusCode === 429) {
    const wait = retryAfterMs ?? retryAfter(headers) ?? DEFAULT_WAIT_MS;
    return { kind: 'limited', waitMs: Math.min(LONGEST_WAIT_MS, Math.max(50, wait)) };
  }
  if (errcode === 'M_UNKNOWN_TOKEN' || errcode === 'M_MISSING_TOKEN' || errcode === 'M_USER_DEACTIVATED')
    return { kind: 'token' };
  if (statusCode >= 500 || statusCode === 408) return { kind: 'away', what: `it answers ${statusCode}` };
  if (errcode !== undefined || statusCode > 0)
    return { kind: 'refused', code: errcode ?? String(statusCode), what: error ?? '' };
  if (code !== undefined && CONNECTION.test(code)) return { kind: 'away', what: code };
  return { kind: 'ours' };
}

/** Pauses after so many failures in a row, in milliseconds: 1 s, doubled up to half a minute. */
export const backoffMs = (failures: number): number =>
  Math.min(30_000, 1000 * 2 ** Math.max(0, failures - 1));
