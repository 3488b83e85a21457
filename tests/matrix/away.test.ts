/** A homeserver that is away for an hour, by a clock that stands still while nothing waits: the real client on loopback. */
import { createServer, type Server } from 'node:http';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { createClient, type MatrixConnection } from '../../src/surfaces/matrix/client.ts';
import { deliveryOver, Stopped } from '../../src/surfaces/matrix/delivery.ts';
import type { NetworkError } from '../../src/surfaces/matrix/network-error.ts';

/** Milliseconds that have been waited for, and what happens then. */
const time = vi.hoisted(() => ({ now: 0, passed: async (_: number): Promise<void> => {} }));
vi.mock('node:timers/promises', () => ({
  setTimeout: async (ms: number, _value: unknown, { signal }: { signal?: AbortSignal } = {}) => {
    signal?.throwIfAborted();
    time.now += ms;
    await time.passed(time.now);
    // Whoever else waits has their turn.
    await new Promise((resolve) => setImmediate(resolve));
  },
}));

const HOUR = 3600_000;
const TOKEN = 'syt_a_token_that_nobody_should_read';
let server: Server | undefined;
let port = 0;
let asked: { method: string; path: string; token: string }[] = [];
let answer: (path: string) => { status: number; body: unknown } = () => ({ status: 404, body: {} });

async function open(at = 0): Promise<void> {
  const made = createServer((request, response) => {
    const path = (request.url ?? '').split('?')[0] ?? '';
    asked.push({
      method: request.method ?? '',
      path,
      token: (request.headers.authorization ?? '').replace('Bearer ', ''),
    });
    const { status, body } = answer(path);
    request.resume();
    response.writeHead(status, { 'content-type': 'application/json', connection: 'close' });
    response.end(JSON.stringify(body));
  });
  await new Promise<void>((resolve) => made.listen(at, '127.0.0.1', resolve));
  const address = made.address();
  port = address && typeof address === 'object' ? address.port : 0;
  server = made;
}
const shut = (): Promise<void> =>
  new Promise((resolve) => {
    const running = server;
    server = undefined;
    if (!running) resolve();
    else {
      running.closeAllConnections();
      running.close(() => resolve());
    }
  });

let client: MatrixConnection;
let faults: (NetworkError | null)[] = [];
let batches: string[] = [];
beforeEach(async () => {
  time.now = 0;
  asked = [];
  faults = [];
  batches = [];
  // A port that was free a moment ago, where nobody listens now.
  await open();
  await shut();
  time.passed = async (now) => {
    if (now >= HOUR && !server) await open(port);
  };
  client = createClient({
    homeserver: `http://127.0.0.1:${port}`,
    token: TOKEN,
    startAt: 'before',
    onInvite: () => {},
    onState: () => {},
    onGap: () => {},
    onEvent: () => {},
    onBatch: (token) => batches.push(token),
    onFault: (fault) => faults.push(fault),
  });
});
afterEach(async () => {
  client.stop();
  await shut();
});

const message = {
  room: '!room:shed.test',
  type: 'm.room.message',
  content: { msgtype: 'm.notice', body: 'x' },
  transaction: 'th-1',
};

it('is waited for, and what was to be said is said once, in the transaction of the first try', async () => {
  answer = () => ({ status: 200, body: { event_id: '$said' } });
  const delivery = deliveryOver(
    () => client,
    async (_, type, content) => ({ type, content }),
    () => time.now,
    (fault) => faults.push(fault),
  );
  expect(await delivery.send(message)).toBe('$said');
  expect(time.now).toBeGreaterThanOrEqual(HOUR);
  // At most half a minute between two tries: it is back soon after the homeserver is.
  expect(faults.length).toBeGreaterThan(110);
  expect(faults.length).toBeLessThan(140);
  expect(new Set(faults.map((fault) => fault?.kind))).toEqual(new Set(['away']));
  expect(asked).toEqual([
    {
      method: 'PUT',
      path: '/_matrix/client/v3/rooms/!room%3Ashed.test/send/m.room.message/th-1',
      token: TOKEN,
    },
  ]);
  expect(JSON.stringify(faults)).not.toContain(TOKEN);
});

it('is waited for by the sync, which goes on where it was', async () => {
  answer = (path) => {
    if (!path.endsWith('/sync'))
      return { status: 200, body: { user_id: '@bot:shed.test', joined_rooms: [] } };
    // What stands before it, as a proxy does, answers in its place.
    return time.now < HOUR ? { status: 503, body: {} } : { status: 200, body: { next_batch: 'after' } };
  };
  await open(port);
  await client.start();
  while (!batches.length) await new Promise((resolve) => setImmediate(resolve));
  client.stop();
  expect(time.now).toBeGreaterThanOrEqual(HOUR);
  expect(batches[0]).toBe('after');
  expect(faults.filter((fault) => fault?.kind === 'away').length).toBeGreaterThan(110);
  expect(asked.some(({ path }) => path.endsWith('/sync'))).toBe(true);
});

it('that no longer takes the token ends the waiting', async () => {
  answer = () => ({ status: 401, body: { errcode: 'M_UNKNOWN_TOKEN', error: `no ${TOKEN}` } });
  await open(port);
  const delivery = deliveryOver(
    () => client,
    async (_, type, content) => ({ type, content }),
    () => time.now,
    (fault) => faults.push(fault),
  );
  await expect(delivery.send(message)).rejects.toThrow(Stopped);
  expect(faults).toEqual([{ kind: 'token' }]);
  expect(asked).toHaveLength(1);
});
