/**
 * What a start takes where nothing can be written in the installation, beside one where it can: the two in turns, so that
 * other work on the machine slows both. Part of `npm run bench`; alone: `npm run node tests/bench/start.ts`.
 */
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from '../../src/build.ts';
import { canInstall, install } from '../starting/installation.ts';

const ROUNDS = 25;
const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

/** Of what is built; empty where root's installation could be run by nobody else. */
export function startFigures(): Record<string, number> {
  if (!canInstall) return {};
  const { around, mayWrite, run, remove } = install();
  const seconds = (may: boolean): number => {
    mayWrite(may);
    const from = process.hrtime.bigint();
    const { status, stderr } = run(['--data', join(around, 'data'), '--demo', '--run', '/setup']);
    if (status !== 0) throw new Error(`the bot ended with ${status}: ${stderr}`);
    return Number(process.hrtime.bigint() - from) / 1e9;
  };
  try {
    seconds(false);
    const rounds = Array.from({ length: ROUNDS }, (_, i) => {
      const [first, second] = [seconds(i % 2 === 0), seconds(i % 2 === 1)];
      return i % 2 === 0 ? { writable: first, readOnly: second } : { writable: second, readOnly: first };
    });
    const readOnly = median(rounds.map((round) => round.readOnly));
    const writable = median(rounds.map((round) => round.writable));
    const round = (value: number) => Math.round(value * 1000) / 1000;
    return {
      'start.readOnly.s': round(readOnly),
      'start.writable.s': round(writable),
      'start.readOnly.ratio': round(readOnly / writable),
    };
  } finally {
    remove();
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  await build({ ifStale: true });
  for (const [name, value] of Object.entries(startFigures()))
    process.stdout.write(`${name.padEnd(32)}${String(value).padStart(12)}\n`);
}
