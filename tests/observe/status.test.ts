/** A serving bot as whoever runs it sees it: over its socket, its port, and the service manager. */
import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { healthSchema } from '../../src/observe/health.ts';
import { titleOf, until } from '../discord/bot.ts';
import { served } from '../discord/served.ts';
import { freePort } from '../free-port.ts';
import { runToEnd } from '../kills/programs.ts';
import { readExposition } from '../oracles/exposition-reader.ts';

const TIME = 600_000;
const WAIT = 60_000;
let folder = '';
let data = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-observe-'));
  data = join(folder, 'data');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const status = () => runToEnd({ arguments: ['--status', '--data', data] });

describe('a bot that serves', () => {
  it('says how it is over its socket and its port, and in numbers that a scraper reads', {
    timeout: TIME,
  }, async () => {
    const port = await freePort();
    const on = await served(data, { environment: { THIRDHAND_HEALTH_PORT: String(port) } });
    try {
      const ask = (path: string, how: RequestInit = {}) => fetch(`http://127.0.0.1:${port}${path}`, how);
      const numbers = async () => {
        const response = await ask('/metrics');
        expect(response.headers.get('content-type')).toBe('text/plain; version=0.0.4; charset=utf-8');
        const read = readExposition(await response.text());
        return (name: string, labels: Record<string, string> = {}) =>
          read.get(name)?.samples.find((one) => Object.entries(labels).every(([k, v]) => one.labels[k] === v))
            ?.value;
      };
      const before = await numbers();
      expect(before('thirdhand_commands_total', { outcome: 'answered' })).toBe(0);
      await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
      await on.ines.use('prices', 'list', {});
      expect(titleOf((await on.ines.use('job', 'show', { job: '77' })).message)).toMatch(/77|job/);
      const later = await numbers();
      expect(later('thirdhand_commands_total', { outcome: 'answered' })).toBe(2);
      expect(later('thirdhand_commands_total', { outcome: 'refused' })).toBe(1);
      expect(later('thirdhand_commands_total', { outcome: 'fault' })).toBe(0);
      expect(later('thirdhand_command_seconds')).toBeDefined();
      expect(later('thirdhand_faults_total')).toBe(0);
      expect(later('thirdhand_deferrals_total')).toBe(0);
      expect(later('thirdhand_late_answers_total')).toBe(0);
      expect(later('thirdhand_queue')).toBe(0);
      expect(later('thirdhand_connected', { platform: 'discord' })).toBe(1);
      expect(later('thirdhand_posts_total', { result: 'sent' })).toBe(0);
      expect(later('thirdhand_store_bytes', { file: 'store' })).toBe(
        statSync(join(data, 'thirdhand.sqlite')).size,
      );
      expect(later('thirdhand_event_loop_lag_seconds')).toBeGreaterThanOrEqual(0);

      const response = await ask('/health');
      expect(response.status).toBe(200);
      expect(healthSchema.parse(await response.json())).toMatchObject({
        well: true,
        hears: true,
        commands: 3,
        faults: 0,
      });
      expect((await ask('/')).status).toBe(404);
      expect((await ask('/health', { method: 'POST' })).status).toBe(405);
      const told = await status();
      expect(told).toMatchObject({ code: 0, err: '' });
      expect(told.out).toMatch(
        /^Thirdhand \d+\.\d+\.\d+, process \d+, runs since .* UTC\.\ndiscord: connected since/,
      );
      expect(told.out).toContain('3 commands answered, 0 faults.');
      // The connection goes; it is told at once, and told back.
      on.loopback.gateway.closeWith(4000);
      await until(() => on.bot.out().includes('the connection is lost'), 'the loss', WAIT);
      await until(() => on.bot.out().includes('the connection is back'), 'the return', WAIT);
      expect((await status()).code).toBe(0);
    } finally {
      expect(await on.close()).toBe(0);
    }
    expect(await status()).toMatchObject({ code: 1, out: `No bot serves on ${data}.\n` });
    expect(existsSync(join(data, 'status.sock'))).toBe(false);
  });

  it('opens no port by itself, and its socket to its own account alone', { timeout: TIME }, async () => {
    const on = await served(data);
    try {
      expect(statSync(join(data, 'status.sock')).mode & 0o777).toBe(0o600);
      const listening = readFileSync(`/proc/${on.bot.child.pid}/net/tcp`, 'utf8');
      const own = new Set(
        execFileSync('ls', ['-l', `/proc/${on.bot.child.pid}/fd`], { encoding: 'utf8' }).match(
          /(?<=socket:\[)\d+/g,
        ),
      );
      // A line of a listening socket has the state 0A and its inode in the tenth column (proc(5), /proc/net/tcp).
      const ports = listening
        .trim()
        .split('\n')
        .map((line) => line.trim().split(/\s+/))
        .filter((columns) => columns[3] === '0A' && own.has(columns[9] ?? ''));
      expect(ports).toEqual([]);
      expect((await status()).code).toBe(0);
    } finally {
      await on.close();
    }
  });

  it('that was killed leaves no socket in the way, and a port that is taken is told in one line', {
    timeout: TIME,
  }, async () => {
    const first = await served(data);
    first.bot.kill();
    await first.bot.ended;
    await first.loopback.close();
    expect(await status()).toMatchObject({ code: 1, out: `No bot serves on ${data}.\n` });
    const second = await served(data);
    expect((await status()).code).toBe(0);
    await second.close();
    const server = createServer().listen(0, '127.0.0.1');
    await once(server, 'listening');
    const address = server.address();
    const port = address !== null && typeof address !== 'string' ? address.port : 0;
    await expect(served(data, { environment: { THIRDHAND_HEALTH_PORT: String(port) } })).rejects.toThrow(
      `THIRDHAND_HEALTH_PORT: port ${port} of 127.0.0.1 cannot be opened (EADDRINUSE). Choose another.`,
    );
    server.close();
  });
});

describe('the service manager', () => {
  const NOTIFY = 'systemd-notify';
  /** Stands in for systemd's own program, and writes down what it was given. */
  function standIn(): { file: string; environment: Record<string, string> } {
    const file = join(folder, 'notified');
    const program = join(folder, NOTIFY);
    writeFileSync(program, `#!/bin/sh\necho "$NOTIFY_SOCKET $*" >> ${file}\n`);
    chmodSync(program, 0o755);
    return {
      file,
      environment: { PATH: `${folder}${delimiter}${process.env.PATH}`, NOTIFY_SOCKET: '/run/notify' },
    };
  }
  const heard = (file: string) => (existsSync(file) ? readFileSync(file, 'utf8').trim().split('\n') : []);

  it('is told that the bot is ready, again and again that it is alive, and that it ends', {
    timeout: TIME,
  }, async () => {
    const { file, environment } = standIn();
    // Half of this is the time between two words.
    const on = await served(data, { environment: { ...environment, WATCHDOG_USEC: '200000' } });
    const alive = () => heard(file).filter((line) => line.includes('WATCHDOG=1'));
    await until(() => alive().length > 3, 'the watchdog', WAIT);
    expect(heard(file)[0]).toMatch(/^\/run\/notify READY=1 MAINPID=\d+ STATUS=/);
    expect(alive().at(-1)).toContain('STATUS=discord connected; 0 commands, 0 faults');
    await on.close();
    expect(heard(file).some((line) => line.includes('STOPPING=1'))).toBe(true);
  });
  it('is told nothing more by a bot that hangs, and nothing at all where there is none', {
    timeout: TIME,
  }, async () => {
    const { file, environment } = standIn();
    const on = await served(data, { environment: { ...environment, WATCHDOG_USEC: '200000' } });
    await until(() => heard(file).length > 2, 'the watchdog', WAIT);
    on.bot.child.kill('SIGSTOP');
    await new Promise((resolve) => setTimeout(resolve, 500));
    const before = heard(file).length;
    await new Promise((resolve) => setTimeout(resolve, 2000));
    expect(heard(file).length).toBe(before);
    on.bot.child.kill('SIGCONT');
    await until(() => heard(file).length > before, 'the watchdog again', WAIT);
    await on.close();
    rmSync(file);
    const { NOTIFY_SOCKET: _, ...without } = environment;
    const alone = await served(data, { environment: { ...without, WATCHDOG_USEC: '200000' } });
    await alone.close();
    expect(heard(file)).toEqual([]);
  });

  const canReceive =
    spawnSync(NOTIFY, ['--version']).status === 0 && spawnSync('python3', ['--version']).status === 0;
  it.runIf(canReceive)(
    'hears it as datagrams on its socket, by the program of systemd itself',
    { timeout: TIME },
    async () => {
      const socket = join(folder, 'notify.sock');
      const file = join(folder, 'datagrams');
      const receiver = spawn('python3', [
        '-c',
        `import socket,sys
s = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM); s.bind(sys.argv[1])
open(sys.argv[2], 'w').close()
while True:
    data, ancillary, flags, address = s.recvmsg(4096, 256)
    with open(sys.argv[2], 'a') as out: out.write(data.decode().replace(chr(10), ' ') + chr(10))`,
        socket,
        file,
      ]);
      await until(() => existsSync(file), 'the receiver', WAIT);
      const on = await served(data, { environment: { NOTIFY_SOCKET: socket, WATCHDOG_USEC: '200000' } });
      await until(() => heard(file).some((line) => line.includes('WATCHDOG=1')), 'a datagram', WAIT);
      expect(heard(file).some((line) => line.includes('READY=1'))).toBe(true);
      expect(on.bot.err()).toBe('');
      await on.close();
      receiver.kill();
    },
  );
});
