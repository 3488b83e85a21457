import { appendFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type * as Pino from 'pino';

/**
 * Writes an error, whole, under the id that the person was told (level `error`), or news in words under the name of a
 * platform (level `info`). What people typed is never in it.
 */
export type Log = (id: string, error: unknown) => void;

/** An error's own fields are left out: a library may keep in them what was to be sent. */
const errorFields = (error: Error) => ({ type: error.name, message: error.message, stack: error.stack });

/** To a file where there is one; to stderr otherwise, or when the file cannot be written. */
function writeTo(file: string | null, line: string): void {
  try {
    // Opened for each line: the system may have put the file away meanwhile, and a new one is begun.
    if (file !== null) appendFileSync(file, line, { mode: 0o600 });
    else process.stderr.write(line);
  } catch {
    // The disk may be full or read-only: say it where someone may see it.
    process.stderr.write(line);
  }
}

/** One JSON object a line. The file is never cut short here: keeping it small is for the system's rotation of logs. */
export function logTo(file: string | null): Log {
  let logger: Pino.Logger | undefined;
  /** Loaded at the first line: most runs have nothing to say. */
  const loggerOf = (): Pino.Logger => {
    const { pino }: typeof Pino = createRequire(import.meta.url)('pino');
    return pino(
      {
        base: { pid: process.pid },
        timestamp: pino.stdTimeFunctions.isoTime,
        formatters: { level: (level) => ({ level }) },
        serializers: { err: errorFields },
      },
      { write: (line) => writeTo(file, line) },
    );
  };
  return (id, error) => {
    try {
      logger ??= loggerOf();
    } catch {
      // No file may be opened any more, and still the fault is to be seen.
      process.stderr.write(`${id} ${error instanceof Error ? error.stack : error}\n`);
      return;
    }
    if (error instanceof Error) logger.error({ id, err: error }, error.message);
    else logger.info({ id }, String(error));
  };
}
