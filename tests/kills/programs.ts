/** The real program as a child that can be killed: on the loopback Discord, and at the terminal. */
import { type ChildProcess, spawn } from 'node:child_process';
import { dirname, join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const START_MS = 10 * 60_000;

export interface Running {
  child: ChildProcess;
  /** What it has written to standard output so far. */
  out(): string;
  err(): string;
  alive(): boolean;
  kill(): void;
  /** Resolves when it has ended and all it wrote has been read. */
  ended: Promise<{ code: number | null; signal: string | null }>;
}

export interface RunParts {
  arguments: readonly string[];
  environment?: Readonly<Record<string, string>>;
  input?: string;
  /** `before-commit:3`; see killer.mjs. */
  killAt?: string | undefined;
  /** Added to its clock. */
  shiftMs?: number;
  /** A command that runs the command behind it: `sh -c '… exec "$@"' sh`. */
  within?: readonly string[];
  /** Where the program is installed; here when not given. */
  installed?: string;
}

export function run({
  arguments: given,
  environment = {},
  input = '',
  killAt = '',
  shiftMs = 0,
  within = [],
  installed = root,
}: RunParts): Running {
  const [command = process.execPath, ...rest] = [
    ...within,
    process.execPath,
    ...['--import', join(root, 'tests', 'kills', 'killer.mjs'), join(installed, 'src', 'thirdhand.cjs')],
    ...given,
  ];
  const child = spawn(command, rest, {
    cwd: installed,
    env: {
      PATH: process.env.PATH,
      HOME: process.env.HOME,
      USER: 'ines',
      KILL_AT: killAt,
      CLOCK_SHIFT_MS: String(shiftMs),
      ...environment,
    },
  });
  let out = '';
  let err = '';
  child.stdout.on('data', (chunk: Buffer) => {
    out += chunk.toString();
  });
  child.stderr.on('data', (chunk: Buffer) => {
    err += chunk.toString();
  });
  child.stdin.on('error', () => undefined);
  child.stdin.end(input);
  const ended = new Promise<{ code: number | null; signal: string | null }>((resolve) => {
    child.on('close', (code, signal) => resolve({ code, signal }));
  });
  return {
    child,
    out: () => out,
    err: () => err,
    alive: () => child.exitCode === null && child.signalCode === null,
    kill: () => {
      child.kill('SIGKILL');
    },
    ended,
  };
}

/** True when it says so before it ends; false when it ended first. */
export async function says(one: Running, words: string): Promise<boolean> {
  const until = performance.now() + START_MS;
  while (!one.out().includes(words)) {
    if (!one.alive()) return one.out().includes(words);
    if (performance.now() > until) throw new Error(`"${words}" was not said: ${one.out()} ${one.err()}`);
    await pause(5);
  }
  return true;
}

/** Runs it to its end. */
export async function runToEnd(parts: RunParts): Promise<{ code: number | null; out: string; err: string }> {
  const one = run(parts);
  const { code } = await one.ended;
  return { code, out: one.out(), err: one.err() };
}
