/** A machine that has nothing but the installed program, last night's copy and the key: how it gets its store back. */
import { chmodSync, copyFileSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Installation } from '../starting/installation.ts';

export interface Restored {
  /** What each step said, and what its errors were. */
  said: { step: string; status: number | null; out: string; err: string; seconds: number }[];
  /** Where its store is now. */
  data: string;
}

/**
 * Restores `copy` with the key file `key` on the machine of an installation, checks it, and gives `line` to the bot in private
 * as `person`.
 */
export function restoreOn(
  machine: Installation,
  { copy, key, line, person }: { copy: string; key: string; line: string; person: string },
): Restored {
  const data = join(machine.around, 'back');
  const brought = join(machine.around, 'brought.sqlite');
  copyFileSync(copy, brought);
  chmodSync(brought, 0o644);
  const steps: [string, () => string[]][] = [
    ['restore', () => ['--restore', brought]],
    [
      'check',
      () => {
        copyFileSync(key, join(data, 'key'));
        machine.giveTo(join(data, 'key'));
        return ['--check'];
      },
    ],
    ['answer', () => ['--as', person, '--in', 'direct', '--run', line]],
  ];
  mkdirSync(machine.around, { recursive: true });
  const said = steps.map(([step, argumentsOf]) => {
    const given = argumentsOf();
    const from = performance.now();
    const { status, stdout, stderr } = machine.run(['--data', data, ...given]);
    return { step, status, out: stdout, err: stderr, seconds: (performance.now() - from) / 1000 };
  });
  return { said, data };
}
