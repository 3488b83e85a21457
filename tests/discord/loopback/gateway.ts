/** The gateway: one client, heartbeats, resuming, and the ways in which a connection is lost. */
import type { IncomingMessage } from 'node:http';
import type { Duplex } from 'node:stream';
import { type WebSocket, WebSocketServer } from 'ws';
import * as z from 'zod';
import { type JsonObject, jsonSchema } from './rules.ts';
import type { World } from './world.ts';

const frameSchema = z.object({ op: z.number().int(), d: jsonSchema.optional() });
const identifySchema = z.object({ token: z.string(), intents: z.number().int() });
const resumeSchema = z.object({ token: z.string(), session_id: z.string(), seq: z.number().int() });

/** Members, presences and message content: what a portal has to allow first. */
const PRIVILEGED = (1 << 1) | (1 << 8) | (1 << 15);

interface Dispatched {
  s: number;
  t: string;
  d: JsonObject;
}

export class Gateway {
  private readonly sockets = new WebSocketServer({ noServer: true });
  private readonly world: World;
  private readonly url: () => string;
  private socket: WebSocket | null = null;
  private seq = 0;
  private session = 0;
  private sent: Dispatched[] = [];
  private waiting: (() => void)[] = [];
  /** Heartbeats are not acknowledged. */
  deaf = false;
  /** The next RESUME is refused. */
  refuseResume = false;
  /** Closes with this code whoever identifies. */
  refuseWith: number | null = null;
  heartbeatMs = 41_250;
  /** What becomes of whoever connects: greeted, answered with a status of HTTP, cut off, or kept waiting. */
  away: null | 502 | 503 | 'refused' | 'hanging' = null;
  /** So many connections are greeted, and the one after each of them is answered with 503. */
  awayAfterHello = 0;
  private greetedLast = false;
  /** How often somebody tried to connect while it was away. */
  turnedAway = 0;
  private readonly kept = new Set<Duplex>();
  /** Ids as the client used them: IDENTIFY and RESUME, in order. */
  readonly log: ('identify' | 'resume' | 'resume refused' | 'heartbeat')[] = [];
  intents = 0;
  ready = false;

  constructor(world: World, url: () => string) {
    this.world = world;
    this.url = url;
  }

  upgrade(request: IncomingMessage, socket: Duplex, head: Buffer): void {
    const goesAway = this.awayAfterHello > 0 && this.greetedLast;
    if (goesAway) this.awayAfterHello -= 1;
    this.greetedLast = this.away === null && !goesAway;
    const away = goesAway ? 503 : this.away;
    if (away !== null) {
      this.turnedAway += 1;
      this.kept.add(socket);
      socket.on('error', () => undefined);
      if (away === 'refused') socket.destroy();
      else if (away !== 'hanging')
        socket.end(`HTTP/1.1 ${away} Away\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`);
      return;
    }
    this.sockets.handleUpgrade(request, socket, head, (client) => this.welcome(client));
  }

  private welcome(client: WebSocket): void {
    this.socket = client;
    client.on('message', (data: Buffer) => this.heard(client, data.toString()));
    client.on('error', () => undefined);
    client.on('close', () => {
      if (this.socket === client) {
        this.socket = null;
        this.ready = false;
      }
    });
    this.frame(client, { op: 10, d: { heartbeat_interval: this.heartbeatMs, _trace: [] } });
  }

  private frame(client: WebSocket, frame: JsonObject): void {
    client.send(JSON.stringify(frame));
  }

  private heard(client: WebSocket, text: string): void {
    const { op, d } = frameSchema.parse(JSON.parse(text));
    switch (op) {
      case 1:
        this.log.push('heartbeat');
        if (!this.deaf) this.frame(client, { op: 11, d: null });
        return;
      case 2:
        this.identify(client, identifySchema.parse(d));
        return;
      case 6:
        this.resume(client, resumeSchema.parse(d));
        return;
      default:
    }
  }

  private identify(client: WebSocket, { token, intents }: z.infer<typeof identifySchema>): void {
    this.log.push('identify');
    const refused =
      this.refuseWith ?? (token !== this.world.token ? 4004 : intents & PRIVILEGED ? 4014 : null);
    if (refused !== null) {
      client.close(refused);
      return;
    }
    this.intents = intents;
    this.session += 1;
    this.seq = 0;
    this.sent = [];
    this.dispatch('READY', {
      v: 10,
      user: { ...this.world.userJson(this.world.bot), verified: true, mfa_enabled: false },
      guilds: [...this.world.servers.keys()].map((id) => ({ id, unavailable: true })),
      session_id: `session-${this.session}`,
      resume_gateway_url: this.url(),
      application: { id: this.world.application, flags: 0 },
      session_type: 'normal',
    });
    for (const server of this.world.servers.values())
      this.dispatch('GUILD_CREATE', this.world.serverCreateJson(server));
    this.open();
  }

  private resume(client: WebSocket, { token, session_id, seq }: z.infer<typeof resumeSchema>): void {
    if (token !== this.world.token) {
      client.close(4004);
      return;
    }
    if (this.refuseResume || session_id !== `session-${this.session}`) {
      this.refuseResume = false;
      this.log.push('resume refused');
      this.frame(client, { op: 9, d: false });
      return;
    }
    this.log.push('resume');
    const missed = this.sent.filter(({ s }) => s > seq);
    for (const one of missed) this.frame(client, { op: 0, ...one });
    this.dispatch('RESUMED', { _trace: [] });
    this.open();
  }

  private open(): void {
    this.ready = true;
    for (const tell of this.waiting.splice(0)) tell();
  }

  /** When the client is identified, or has resumed. */
  async opened(): Promise<void> {
    if (!this.ready) await new Promise<void>((resolve) => this.waiting.push(resolve));
  }

  /** Sends an event, or keeps it for a RESUME when nobody is connected. */
  dispatch(t: string, d: JsonObject): void {
    this.seq += 1;
    const one = { s: this.seq, t, d };
    this.sent.push(one);
    if (this.sent.length > 5000) this.sent.splice(0, 2500);
    if (this.socket?.readyState === 1) this.frame(this.socket, { op: 0, ...one });
  }

  /** Op 7: please connect again. */
  askReconnect(): void {
    this.ready = false;
    if (this.socket) this.frame(this.socket, { op: 7, d: null });
  }
  /** Op 9. */
  invalidate(resumable: boolean): void {
    this.ready = false;
    if (this.socket) this.frame(this.socket, { op: 9, d: resumable });
  }
  /** The wire breaks, without a word. */
  cut(): void {
    this.ready = false;
    this.socket?.terminate();
  }
  closeWith(code: number): void {
    this.ready = false;
    this.socket?.close(code);
  }
  get connected(): boolean {
    return this.socket !== null;
  }

  stop(): void {
    for (const socket of this.kept) socket.destroy();
    for (const client of this.sockets.clients) client.terminate();
    this.sockets.close();
  }
}
