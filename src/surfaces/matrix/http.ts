/**
 * HTTP for matrix-bot-sdk over fetch, in place of the client that it brings (`request`, abandoned since 2020): what it hands
 * over and gets back has the form of that one. Redirects are not followed: the token would go along.
 */
import { z } from 'zod';

const queryValue = z.union([z.string(), z.number(), z.boolean(), z.null()]);
const paramsSchema = z.object({
  uri: z.string(),
  method: z.string(),
  qs: z
    .record(z.string(), z.union([queryValue, z.array(queryValue)]).optional())
    .nullish()
    .catch(null),
  /** Null: the body as bytes; else as text. */
  encoding: z.null().optional(),
  timeout: z.number().nullish(),
  headers: z.record(z.string(), z.string()).default({}),
  body: z.union([z.string(), z.instanceof(Buffer)]).optional(),
});

interface Answer {
  statusCode: number;
  headers: Record<string, string>;
  body: string | Buffer;
}
type Callback = (error: unknown, response?: Answer, body?: string | Buffer) => void;

const codeSchema = z.object({ code: z.string() });

/** Throws in the terms of Node's sockets, which `networkErrorOf` knows. */
function connectionError(thrown: unknown): Error {
  const cause = thrown instanceof Error ? (thrown.cause ?? thrown) : thrown;
  const named = codeSchema.safeParse(cause).data?.code;
  const name = thrown instanceof Error ? thrown.name : '';
  const code = name === 'TimeoutError' ? 'ETIMEDOUT' : named?.startsWith('UND_ERR') ? 'ECONNRESET' : named;
  // What fetch itself refuses, such as an address that is none, is no fault of the connection.
  return Object.assign(new Error('the connection failed'), code === undefined ? {} : { code });
}

const address = (uri: string, qs: z.infer<typeof paramsSchema>['qs']): URL => {
  const url = new URL(uri);
  for (const [name, value] of Object.entries(qs ?? {}))
    for (const one of [value].flat())
      if (one !== null && one !== undefined) url.searchParams.append(name, String(one));
  return url;
};

async function exchange(params: z.infer<typeof paramsSchema>): Promise<Answer> {
  const { uri, qs, method, headers, body, timeout, encoding } = params;
  try {
    const response = await fetch(address(uri, qs), {
      method,
      headers,
      redirect: 'manual',
      ...(body === undefined ? {} : { body: typeof body === 'string' ? body : new Uint8Array(body) }),
      ...(timeout ? { signal: AbortSignal.timeout(timeout) } : {}),
    });
    const bytes = Buffer.from(await response.arrayBuffer());
    return {
      statusCode: response.status,
      headers: Object.fromEntries(response.headers),
      body: encoding === null ? bytes : bytes.toString('utf8'),
    };
  } catch (error) {
    throw connectionError(error);
  }
}

/** What the SDK calls for each request. */
export function requestOverFetch(params: unknown, callback: Callback): void {
  // What the callback throws is the SDK's own fault, and is not told to it a second time.
  exchange(paramsSchema.parse(params)).then(
    (answer) => callback(null, answer, answer.body),
    (error: unknown) => callback(error),
  );
}

/** A download grew beyond what is taken. */
export class TooLarge extends Error {
  constructor(most: number) {
    super(`larger than ${most} bytes`);
    this.name = 'TooLarge';
  }
}

const DOWNLOAD_MS = 60_000;

/** The bytes under an address, counted as they come: TooLarge as soon as there are more than `most`. */
export async function download(url: string, token: string, most: number): Promise<Buffer> {
  const ending = new AbortController();
  const signal = AbortSignal.any([ending.signal, AbortSignal.timeout(DOWNLOAD_MS)]);
  const parts: Uint8Array[] = [];
  let size = 0;
  try {
    const headers = { authorization: `Bearer ${token}` };
    const response = await fetch(url, { headers, redirect: 'manual', signal });
    if (response.status !== 200)
      throw Object.assign(new Error(`it answers ${response.status}`), { statusCode: response.status });
    for await (const part of response.body ?? []) {
      size += part.byteLength;
      if (size > most) throw new TooLarge(most);
      parts.push(part);
    }
  } catch (error) {
    if (error instanceof TooLarge || (error instanceof Error && 'statusCode' in error)) throw error;
    throw connectionError(error);
  } finally {
    ending.abort();
  }
  return Buffer.concat(parts, size);
}
