/** Stands between the bot and its homeserver, and breaks what a test asks for. On loopback only. */
import { createServer, type IncomingMessage, request, type ServerResponse } from 'node:http';

interface Break {
  method: string;
  path: RegExp;
  /**
   * `before`: the connection is cut, and the homeserver hears nothing. `after`: the homeserver does it, and its answer is
   * lost. A number: this status is answered in its place.
   */
  how: 'before' | 'after' | number;
  /** How often. */
  times: number;
}

export interface BreakingProxy {
  url: string;
  break(broken: Break): void;
  /** Breaks nothing any more. */
  mend(): void;
  /** Requests that came through, as "METHOD /path", without their query. */
  log: string[];
  close(): Promise<void>;
}

export async function openProxy(target: string): Promise<BreakingProxy> {
  const breaks: Break[] = [];
  const log: string[] = [];
  const take = (method: string, path: string): Break | undefined => {
    const found = breaks.find((one) => one.times > 0 && one.method === method && one.path.test(path));
    if (found) found.times -= 1;
    return found;
  };
  const pass = (incoming: IncomingMessage, outgoing: ServerResponse, lost: boolean) => {
    const onward = request(
      `${target}${incoming.url ?? ''}`,
      { method: incoming.method, headers: incoming.headers },
      (answer) => {
        if (lost) {
          answer.resume();
          answer.once('end', () => outgoing.destroy());
          return;
        }
        outgoing.writeHead(answer.statusCode ?? 502, answer.headers);
        answer.pipe(outgoing);
      },
    );
    onward.once('error', () => outgoing.destroy());
    outgoing.once('close', () => onward.destroy());
    incoming.pipe(onward);
  };
  const server = createServer((incoming, outgoing) => {
    const path = decodeURIComponent((incoming.url ?? '').split('?')[0] ?? '');
    const method = incoming.method ?? '';
    log.push(`${method} ${path}`);
    const broken = take(method, path)?.how;
    if (broken === 'before') {
      outgoing.destroy();
    } else if (typeof broken === 'number') {
      incoming.resume();
      outgoing.writeHead(broken, { 'content-type': 'text/html' }).end('<html>broken</html>');
    } else {
      pass(incoming, outgoing, broken === 'after');
    }
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  if (!address || typeof address !== 'object') throw new Error('no port');
  return {
    url: `http://127.0.0.1:${address.port}`,
    break: (broken) => {
      breaks.push({ ...broken });
    },
    mend: () => {
      breaks.length = 0;
    },
    log,
    close: async () => {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
    },
  };
}
