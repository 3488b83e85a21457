/**
 * Where a running bot tells how it is: over a socket in its data folder, which its account alone can open, and where it is set
 * over HTTP on the loopback. `/health` is JSON, 200 or 503; `/metrics` is for a scraper. Nothing that people say is in either.
 */

import { chmodSync, rmSync } from 'node:fs';
import { createServer, get, type Server } from 'node:http';
import { connect } from 'node:net';
import { join } from 'node:path';
import { codeOf } from '../../commands/framework/internal-error.ts';
import { WrongSetting } from '../environment/program-settings.ts';
import { whyOf } from '../environment/why.ts';
import { EXPOSITION_TYPE, exposition, type MetricFamily } from './exposition.ts';
import { type Health, healthLines, healthSchema } from './health.ts';

/** Longer paths than this are no addresses of sockets (unix(7): 108 bytes with the zero at the end). */
const LONGEST_SOCKET = 107;

const socketIn = (data: string): string => join(data, 'status.sock');

export interface StatusParts {
  data: string;
  /** A port of 127.0.0.1; null for none. */
  port: number | null;
  health: () => Health;
  families: () => MetricFamily[];
  onFault: (error: unknown) => void;
}

const serverOf = ({ health, families, onFault }: StatusParts): Server =>
  createServer({ requestTimeout: 10_000 }, (request, response) => {
    const send = (status: number, type: string, text: string): void => {
      response.writeHead(status, { 'content-type': type, 'cache-control': 'no-store' });
      response.end(request.method === 'HEAD' ? undefined : text);
    };
    try {
      if (request.method !== 'GET' && request.method !== 'HEAD') send(405, 'text/plain', 'GET alone\n');
      else if (request.url === '/metrics') send(200, EXPOSITION_TYPE, exposition(families()));
      else if (request.url === '/health') {
        const found = health();
        send(found.well ? 200 : 503, 'application/json', `${JSON.stringify(found)}\n`);
      } else send(404, 'text/plain', '/health and /metrics\n');
    } catch (error) {
      onFault(error);
      send(500, 'text/plain', 'fault\n');
    }
  });

const listening = (server: Server, where: string | { port: number; host: string }): Promise<void> =>
  new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(where, () => {
      server.off('error', reject);
      server.on('error', () => undefined);
      // It keeps nothing alive by itself.
      server.unref();
      resolve();
    });
  });

/** True when a program listens there: then the socket is that one's. */
const isTaken = (socket: string): Promise<boolean> =>
  new Promise((resolve) => {
    const one = connect(socket, () => {
      one.destroy();
      resolve(true);
    });
    one.on('error', () => resolve(false));
  });

/** Listens on the socket of a data folder; null where it cannot be: too long a path, or another bot's. */
async function openSocket(parts: StatusParts): Promise<Server | null> {
  const socket = socketIn(parts.data);
  if (process.platform === 'win32' || Buffer.byteLength(socket) > LONGEST_SOCKET) return null;
  if (await isTaken(socket)) return null;
  // Of a bot that was killed.
  rmSync(socket, { force: true });
  const server = serverOf(parts);
  await listening(server, socket);
  chmodSync(socket, 0o600);
  return server;
}

/** Opens both; gives what ends them. Throws WrongSetting where the port is taken. */
export async function openStatus(parts: StatusParts): Promise<() => void> {
  const own = await openSocket(parts);
  const servers = own ? [own] : [];
  if (parts.port !== null) {
    const server = serverOf(parts);
    try {
      await listening(server, { port: parts.port, host: '127.0.0.1' });
    } catch (error) {
      for (const one of servers) one.close();
      throw new WrongSetting(
        `THIRDHAND_HEALTH_PORT: port ${parts.port} of 127.0.0.1 cannot be opened (${codeOf(error)}). Choose another.`,
      );
    }
    servers.push(server);
  }
  return () => {
    for (const server of servers) {
      server.close();
      server.closeAllConnections();
    }
    if (own) rmSync(socketIn(parts.data), { force: true });
  };
}

const ANSWER_MS = 10_000;

const ask = (socketPath: string): Promise<string> =>
  new Promise((resolve, reject) => {
    const request = get({ socketPath, path: '/health', timeout: ANSWER_MS }, (response) => {
      let text = '';
      response.on('data', (chunk: Buffer) => {
        text += chunk.toString();
      });
      response.on('end', () => resolve(text));
      response.on('error', reject);
    });
    request.on('timeout', () => request.destroy(new Error(`no answer in ${ANSWER_MS / 1000} s`)));
    request.on('error', reject);
  });

/** `--status`: asks the bot that runs on a data folder how it is. */
export async function askStatus(data: string): Promise<{ sound: boolean; lines: string[] }> {
  try {
    const health = healthSchema.parse(JSON.parse(await ask(socketIn(data))));
    return { sound: health.well, lines: healthLines(health) };
  } catch (error) {
    const gone = /^(ENOENT|ECONNREFUSED|ENOTDIR)$/.test(codeOf(error));
    const why = whyOf(error);
    return {
      sound: false,
      lines: [
        gone
          ? `No bot serves on ${data}.`
          : `The bot on ${data} cannot be asked: ${why}. Ask as its own account; if it does not answer, it hangs.`,
      ],
    };
  }
}
