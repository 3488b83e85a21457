import { createServer, type Server } from 'node:http';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { download, requestOverFetch, TooLarge } from '../../src/surfaces/matrix/http.ts';
import { networkErrorOf } from '../../src/surfaces/matrix/network-error.ts';

let server: Server;
let url = '';
const asked: string[] = [];
let sent = 0;
beforeAll(async () => {
  server = createServer((request, response) => {
    asked.push(`${request.method} ${request.url}`);
    if (request.url === '/moved') {
      response.writeHead(302, { location: '/elsewhere' }).end();
      return;
    }
    if (request.url === '/endless') {
      response.writeHead(200);
      // No length is told, and more comes as long as somebody takes it.
      const piece = Buffer.alloc(10_000);
      const more = (): void => {
        sent += piece.length;
        if (!response.destroyed) response.write(piece, () => setImmediate(more));
      };
      more();
      return;
    }
    response.writeHead(200, { 'content-type': 'application/json' }).end('{"a":1}');
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  url = `http://127.0.0.1:${typeof address === 'object' && address ? address.port : 0}`;
});
afterAll(() => server.close());

const ask = (params: object) =>
  new Promise<{ error: unknown; status?: number | undefined; body: unknown }>((resolve) => {
    requestOverFetch({ method: 'GET', headers: {}, ...params }, (error, response, body) =>
      resolve({ error, status: response?.statusCode, body }),
    );
  });

it('asks as the SDK means it, and hands its answer over', async () => {
  const qs = { since: 'a b', dir: null, via: ['x', 'y'], full: false };
  expect(await ask({ uri: `${url}/sync`, qs })).toEqual({ error: null, status: 200, body: '{"a":1}' });
  expect(asked.at(-1)).toBe('GET /sync?since=a+b&via=x&via=y&full=false');
  expect((await ask({ uri: `${url}/file`, encoding: null })).body).toEqual(Buffer.from('{"a":1}'));
});

it('does not go where a redirect points: the token would go along', async () => {
  expect(await ask({ uri: `${url}/moved` })).toMatchObject({ error: null, status: 302 });
  expect(asked.at(-1)).toBe('GET /moved');
});

it('tells of a connection that fails in words that are known', async () => {
  const { error } = await ask({ uri: 'http://127.0.0.1:2/' });
  expect(networkErrorOf(error)).toEqual({ kind: 'away', what: 'ECONNREFUSED' });
  const late = await ask({ uri: `${url}/endless`, timeout: 50 });
  expect(networkErrorOf(late.error)).toEqual({ kind: 'away', what: 'ETIMEDOUT' });
});

it('measures a download while it runs, and breaks it off', async () => {
  sent = 0;
  await expect(download(`${url}/endless`, 'token', 100_000)).rejects.toThrow(TooLarge);
  expect(sent).toBeLessThan(20_000_000);
  expect((await download(`${url}/file`, 'token', 100)).toString()).toBe('{"a":1}');
});
