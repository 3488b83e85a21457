import { appendFileSync } from 'node:fs';

/** Writes faults, whole, under the id that the person was told. What people typed is never in it. */
export type Log = (id: string, error: unknown) => void;

const lines = (id: string, error: unknown): string =>
  `${new Date().toISOString()} ${id} ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`;

/** To a file where there is one; to stderr otherwise, or when the file cannot be written. */
export const logTo =
  (file: string | null): Log =>
  (id, error) => {
    try {
      if (file !== null) return appendFileSync(file, lines(id, error), { mode: 0o600 });
    } catch {
      // The disk may be full or read-only: say it where someone may see it.
    }
    process.stderr.write(lines(id, error));
  };
