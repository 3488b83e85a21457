/**
 * A real homeserver for tests: Synapse from PyPI in a virtual environment of its own, with SQLite, on loopback only, open for
 * registration and with limits so high that they are never met.
 */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { createHmac, randomBytes } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, openSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';

const cache = join(
  dirname(fileURLToPath(import.meta.url)),
  '..',
  '..',
  'node_modules',
  '.cache',
  'thirdhand',
  'synapse',
);
const venv = join(cache, 'venv');
const python = join(venv, 'bin', 'python');
const SERVER_NAME = 'shed.test';
/** The version that the tests run against; another one begins a new environment. */
const SYNAPSE = '1.163.2';

/** Makes the environment where there is none yet. Null when Synapse can run, else the reason in one line. */
export function prepareSynapse(): string | null {
  const imports = () =>
    spawnSync(
      python,
      [
        '-c',
        `import synapse.app.homeserver as s, synapse.util as u; assert u.SYNAPSE_VERSION.startswith("${SYNAPSE}")`,
      ],
      { stdio: 'ignore' },
    );
  if (existsSync(python) && imports().status === 0) return null;
  const version = spawnSync('python3', ['-c', 'import sys; print("%d.%d" % sys.version_info[:2])'], {
    encoding: 'utf8',
  });
  if (version.status !== 0) return 'there is no Python 3 here';
  mkdirSync(cache, { recursive: true });
  rmSync(venv, { recursive: true, force: true });
  process.stderr.write(
    'Installing Synapse from PyPI for the homeserver tests; this takes a minute or two.\n',
  );
  const made = spawnSync('python3', ['-m', 'venv', venv], { encoding: 'utf8' });
  if (made.status !== 0)
    return `a virtual environment cannot be made: ${lastLine(made.stderr || made.stdout)}`;
  const installed = spawnSync(
    python,
    ['-m', 'pip', 'install', '--quiet', '--disable-pip-version-check', `matrix-synapse==${SYNAPSE}`],
    { encoding: 'utf8', timeout: 900_000 },
  );
  if (installed.status !== 0)
    return `Synapse cannot be installed from PyPI: ${lastLine(installed.stderr) || 'it took longer than 15 minutes'}`;
  return imports().status === 0 ? null : 'the installed Synapse does not start';
}

const lastLine = (text: string): string => text.trim().split('\n').at(-1) ?? '';

/** A port that is free now. */
const freePort = (): Promise<number> =>
  new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() =>
        address && typeof address === 'object' ? resolve(address.port) : reject(new Error('no port')),
      );
    });
  });

const generous = '{ per_second: 10000, burst_count: 10000 }';

// JSON strings are YAML strings too.
const configOf = (folder: string, port: number, secret: string): string => `
server_name: ${SERVER_NAME}
public_baseurl: http://127.0.0.1:${port}/
pid_file: ${JSON.stringify(join(folder, 'pid'))}
listeners:
  - { port: ${port}, type: http, bind_addresses: ['127.0.0.1'], resources: [{ names: [client] }] }
database: { name: sqlite3, args: { database: ${JSON.stringify(join(folder, 'homeserver.db'))} } }
log_config: ${JSON.stringify(join(folder, 'log.yaml'))}
media_store_path: ${JSON.stringify(join(folder, 'media'))}
signing_key_path: ${JSON.stringify(join(folder, 'signing.key'))}
registration_shared_secret: ${JSON.stringify(secret)}
macaroon_secret_key: ${JSON.stringify(secret)}
form_secret: ${JSON.stringify(secret)}
enable_registration: true
enable_registration_without_verification: true
report_stats: false
trusted_key_servers: []
presence: { enabled: false }
url_preview_enabled: false
password_config: { enabled: true }
bcrypt_rounds: 4
rc_message: ${generous}
rc_registration: ${generous}
rc_admin_redaction: ${generous}
rc_login: { address: ${generous}, account: ${generous}, failed_attempts: ${generous} }
rc_joins: { local: ${generous}, remote: ${generous} }
rc_joins_per_room: ${generous}
rc_invites: { per_room: ${generous}, per_user: ${generous}, per_issuer: ${generous} }
rc_room_creation: ${generous}
rc_media_create: ${generous}
`;

const logConfig = (folder: string): string => `
version: 1
formatters: { line: { format: '%(asctime)s %(levelname)s %(name)s %(message)s' } }
handlers: { file: { class: logging.FileHandler, formatter: line, filename: ${JSON.stringify(join(folder, 'homeserver.log'))} } }
root: { level: WARNING, handlers: [file] }
disable_existing_loggers: false
`;

export interface Account {
  id: string;
  token: string;
  device: string;
}

const registered = z.object({ user_id: z.string(), access_token: z.string(), device_id: z.string() });
const nonceSchema = z.object({ nonce: z.string() });

export interface Homeserver {
  url: string;
  name: string;
  /** Ends the process, as a machine that loses power would, and waits until it is gone. */
  kill(): Promise<void>;
  /** Starts it again on the same port, with what it had. */
  start(): Promise<void>;
  /** Ends it and removes its folder. */
  close(): Promise<void>;
}

/** What a client needs of a homeserver that may run in another process. */
export const accountsOf = (url: string, secret: string) => {
  const post = async (path: string, body: unknown, token?: string): Promise<unknown> => {
    const response = await fetch(`${url}${path}`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', ...(token ? { authorization: `Bearer ${token}` } : {}) },
      body: JSON.stringify(body),
    });
    const read: unknown = await response.json();
    if (!response.ok) throw new Error(`${path}: ${response.status} ${JSON.stringify(read)}`);
    return read;
  };
  const toAccount = (value: unknown): Account => {
    const { user_id, access_token, device_id } = registered.parse(value);
    return { id: user_id, token: access_token, device: device_id };
  };
  const passwords = new Map<string, string>();
  return {
    /** Registers as anyone could. */
    register: async (username: string): Promise<Account> => {
      const password = randomBytes(12).toString('hex');
      const auth = { type: 'm.login.dummy' };
      const made = toAccount(await post('/_matrix/client/v3/register', { username, password, auth }));
      passwords.set(made.id, password);
      return made;
    },
    /** Another device of an account that was registered here. */
    login: async ({ id }: Account): Promise<Account> => {
      const identifier = { type: 'm.id.user', user: id };
      const type = 'm.login.password';
      return toAccount(
        await post('/_matrix/client/v3/login', { type, identifier, password: passwords.get(id) }),
      );
    },
    /** Registers an administrator with the shared secret (Synapse's own register endpoint). */
    registerAdmin: async (username: string): Promise<Account> => {
      const path = '/_synapse/admin/v1/register';
      const { nonce } = nonceSchema.parse(await (await fetch(`${url}${path}`)).json());
      const password = randomBytes(12).toString('hex');
      const mac = createHmac('sha1', secret)
        .update([nonce, username, password, 'admin'].join('\0'))
        .digest('hex');
      return toAccount(await post(path, { nonce, username, password, admin: true, mac }));
    },
    post,
  };
};
export type Accounts = ReturnType<typeof accountsOf>;

/** A homeserver that answers. Throws, with the end of its log, when it does not come up within four minutes. */
export async function openSynapse(): Promise<Homeserver & { secret: string }> {
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-synapse-'));
  const port = await freePort();
  const secret = randomBytes(16).toString('hex');
  const url = `http://127.0.0.1:${port}`;
  const config = join(folder, 'homeserver.yaml');
  const output = join(folder, 'output.log');
  writeFileSync(config, configOf(folder, port, secret), { mode: 0o600 });
  writeFileSync(join(folder, 'log.yaml'), logConfig(folder));
  const run = ['-m', 'synapse.app.homeserver', '--config-path', config];
  const keys = spawnSync(python, [...run, '--generate-keys'], { encoding: 'utf8' });
  if (keys.status !== 0) throw new Error(`Synapse: ${keys.stderr}`);

  let child: ChildProcess | null = null;
  const isUp = async (): Promise<boolean> => {
    try {
      return (await fetch(`${url}/_matrix/client/versions`)).ok;
    } catch {
      return false;
    }
  };
  const start = async (): Promise<void> => {
    const log = openSync(output, 'a');
    child = spawn(python, run, { stdio: ['ignore', log, log] });
    for (let tries = 0; tries < 1200; tries += 1) {
      if (child.exitCode !== null) break;
      if (await isUp()) return;
      await pause(200);
    }
    throw new Error(`Synapse does not come up: ${readFileSync(output, 'utf8').slice(-2000)}`);
  };
  const kill = async (): Promise<void> => {
    const running = child;
    if (!running || running.exitCode !== null || running.signalCode !== null) return;
    const gone = new Promise((resolve) => running.once('exit', resolve));
    running.kill('SIGKILL');
    await gone;
  };
  // Also when the test runner is ended from outside.
  const last = () => child?.kill('SIGKILL');
  process.once('exit', last);
  await start();
  return {
    url,
    name: SERVER_NAME,
    secret,
    kill,
    start,
    close: async () => {
      await kill();
      process.removeListener('exit', last);
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
