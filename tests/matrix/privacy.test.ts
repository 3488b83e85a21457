/** Who gets into rooms and who reads along: the real client and rooms on a loopback that answers as a homeserver does. */
import { createServer, type Server } from 'node:http';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Database, openDatabase } from '../../shared/store/index.ts';
import { createClient, type MatrixConnection } from '../../src/surfaces/matrix/client.ts';
import { deliveryOver } from '../../src/surfaces/matrix/delivery.ts';
import { type DirectRooms, directRoomsOf, NotPrivate } from '../../src/surfaces/matrix/direct-rooms.ts';
import { type Membership, membershipOf } from '../../src/surfaces/matrix/membership.ts';
import { memoryOf } from '../../src/surfaces/matrix/memory.ts';
import { type Rooms, roomsOf } from '../../src/surfaces/matrix/rooms.ts';
import { testSealer } from '../sealer.ts';

const OWN = '@thirdhand:shed.test';
const INES = '@ines:shed.test';
const WREN = '@wren:shed.test';
const now = new Date('2026-03-02T09:00:00Z');

interface Room {
  joined: string[];
  invited: string[];
  state: Record<string, unknown>;
}
let rooms: Record<string, Room> = {};
let asked: string[] = [];
let server: Server;
let client: MatrixConnection;
let database: Database;
let directs: DirectRooms;
let known: Rooms;
let membership: Membership;

function answer(method: string, path: string): { status: number; body: unknown } {
  const refused = { status: 404, body: { errcode: 'M_NOT_FOUND', error: 'no' } };
  if (/account\/whoami$/.test(path)) return { status: 200, body: { user_id: OWN } };
  if (/account_data/.test(path)) return method === 'GET' ? refused : { status: 200, body: {} };
  const joining = /\/join\/([^/]+)$/.exec(path);
  if (joining) return { status: 200, body: { room_id: decodeURIComponent(joining[1] ?? '') } };
  const [, id = '', rest = ''] = /\/rooms\/([^/]+)\/(.*)$/.exec(path) ?? [];
  const room = rooms[decodeURIComponent(id)];
  if (!room) return refused;
  if (rest === 'leave') return { status: 200, body: {} };
  if (rest === 'members') {
    const chunk = (ids: string[], what: string) =>
      ids.map((state_key) => ({ type: 'm.room.member', state_key, content: { membership: what } }));
    return {
      status: 200,
      body: { chunk: [...chunk(room.joined, 'join'), ...chunk(room.invited, 'invite')] },
    };
  }
  const [, type = ''] = /^state\/([^/]+)/.exec(rest) ?? [];
  if (type === 'm.room.create')
    return { status: 200, body: { type, sender: INES, state_key: '', content: room.state[type] ?? {} } };
  const content = room.state[type];
  return content === undefined ? refused : { status: 200, body: content };
}

beforeEach(async () => {
  rooms = {};
  asked = [];
  server = createServer((request, response) => {
    const path = (request.url ?? '').split('?')[0] ?? '';
    asked.push(`${request.method} ${decodeURIComponent(path)}`);
    request.resume();
    const { status, body } = answer(request.method ?? '', path);
    response.writeHead(status, { 'content-type': 'application/json', connection: 'close' });
    response.end(JSON.stringify(body));
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  const port = address && typeof address === 'object' ? address.port : 0;
  client = createClient({
    homeserver: `http://127.0.0.1:${port}`,
    token: 'syt_token',
    startAt: 'before',
    onInvite: () => {},
    onState: () => {},
    onGap: () => {},
    onEvent: () => {},
    onBatch: () => {},
    onFault: () => {},
  });
  database = openDatabase(':memory:', testSealer);
  const memory = memoryOf(database.surfaceState, OWN, () => now);
  const connection = () => client;
  known = roomsOf({ connection, remembered: memory.encryption });
  const delivery = deliveryOver(
    connection,
    async (_, type, content) => ({ type, content }),
    () => now.getTime(),
    () => {},
  );
  directs = directRoomsOf({ connection, own: OWN, rooms: known, delivery, canRead: true });
  membership = membershipOf({
    database,
    connection,
    delivery,
    rooms: known,
    directs,
    speaker: { say: async () => '$said' },
    memory,
    clock: () => now,
    log: () => {},
    own: OWN,
    allow: null,
  });
});
afterEach(async () => {
  client.stop();
  database.close();
  server.closeAllConnections();
  await new Promise<void>((resolve) => server.close(() => resolve()));
});

const room = (more: Partial<Room> = {}): Room => ({ joined: [OWN, INES], invited: [], state: {}, ...more });

describe('a direct room', () => {
  it.each([
    ['a third person in it', { joined: [OWN, INES, WREN] }],
    ['a third person invited', { invited: [WREN] }],
    ['somebody else in place of its person', { joined: [OWN, WREN] }],
    ['the bot alone', { joined: [OWN] }],
  ])('is not private with %s', async (_, more) => {
    rooms['!direct:shed.test'] = room(more);
    await expect(directs.check('!direct:shed.test', INES)).rejects.toThrow(NotPrivate);
  });
  it('is private with its person alone, invited or there', async () => {
    rooms['!direct:shed.test'] = room();
    await directs.check('!direct:shed.test', INES);
    rooms['!direct:shed.test'] = room({ joined: [OWN], invited: [INES] });
    await directs.check('!direct:shed.test', INES);
  });
});

describe('a room that takes the place of another', () => {
  const tombstone = (replacement: string) => ({
    type: 'm.room.tombstone',
    event_id: '$t',
    sender: INES,
    state_key: '',
    content: { replacement_room: replacement },
  });
  beforeEach(() => {
    const { id } = database.collectives.create('Tin Shed');
    database.channelBindings.bind(
      { platform: 'matrix', id: '!old:shed.test', collective: id, kind: 'room' },
      now,
    );
  });
  const bound = (id: string) => database.channelBindings.bindingOf('matrix', id)?.collective ?? null;

  it('takes over what was set where the old one says so, too', async () => {
    rooms['!old:shed.test'] = room({ state: { 'm.room.tombstone': { replacement_room: '!new:shed.test' } } });
    rooms['!new:shed.test'] = room({
      state: { 'm.room.create': { predecessor: { room_id: '!old:shed.test' } } },
    });
    await membership.replaced('!old:shed.test', tombstone('!new:shed.test'));
    expect([bound('!old:shed.test'), bound('!new:shed.test')]).toEqual([null, 1]);
  });
  it('takes over nothing where it alone claims the old one', async () => {
    rooms['!old:shed.test'] = room();
    rooms['!claims:shed.test'] = room({
      state: { 'm.room.create': { predecessor: { room_id: '!old:shed.test' } } },
    });
    await membership.invited('!claims:shed.test', [
      { type: 'm.room.member', sender: INES, state_key: OWN, content: { membership: 'invite' } },
    ]);
    expect([bound('!old:shed.test'), bound('!claims:shed.test')]).toEqual([1, null]);
    // The old one names another.
    rooms['!old:shed.test'] = room({
      state: { 'm.room.tombstone': { replacement_room: '!other:shed.test' } },
    });
    await membership.replaced('!old:shed.test', tombstone('!claims:shed.test'));
    expect([bound('!old:shed.test'), bound('!claims:shed.test')]).toEqual([1, null]);
  });
});

describe('an invite', () => {
  const invite = (sender: string) => [
    { type: 'm.room.member', sender, state_key: OWN, content: { membership: 'invite' } },
  ];
  it('of a stranger is declined, and the room not entered', async () => {
    rooms['!theirs:far.test'] = room();
    await membership.invited('!theirs:far.test', invite('@stranger:far.test'));
    expect(asked.filter((line) => line.includes('/join/'))).toEqual([]);
    expect(asked.some((line) => line.startsWith('POST') && line.endsWith('/leave'))).toBe(true);
  });
  it('of somebody of the own server is taken', async () => {
    rooms['!ours:shed.test'] = room();
    await membership.invited('!ours:shed.test', invite(WREN));
    expect(asked.some((line) => line.includes('/join/!ours:shed.test'))).toBe(true);
  });
});
