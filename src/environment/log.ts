import { appendFileSync, fstatSync, renameSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import type * as Pino from 'pino';

/**
 * Writes an error, whole, under the id that the person was told (level `error`), or news in words under the name of a
 * platform (level `info`). What people typed is never in it.
 */
export type Log = (id: string, error: unknown) => void;

/** A file; or the journal of systemd, on standard error; or null: standard error as it is. */
export type LogPlace = { file: string } | 'journal' | null;

/** The file is put away as FILE.1 when it is larger, in place of the one before: so it never takes more than twice this. */
const LOG_BYTES = 10_000_000;

/** An error's own fields are left out: a library may keep in them what was to be sent. */
const errorFields = (error: Error) => ({ type: error.name, message: error.message, stack: error.stack });

/** What the journal takes a line for (sd-daemon(3): a level of syslog before it), by the level's number in the log. */
const priorityOf = (line: string): string => (line.startsWith('{"level":"error"') ? '<3>' : '<6>');

function putAwayIfLarge(file: string, bytes: number): void {
  try {
    if (statSync(file).size > bytes) renameSync(file, `${file}.1`);
  } catch {
    // It is not there yet.
  }
}

/** To the file where there is one; to stderr otherwise, or when the file cannot be written. */
function writeTo(place: LogPlace, line: string, bytes: number): void {
  if (place === 'journal') {
    process.stderr.write(`${priorityOf(line)}${line}`);
    return;
  }
  try {
    if (place === null) {
      process.stderr.write(line);
      return;
    }
    putAwayIfLarge(place.file, bytes);
    // Opened for each line: the system may have put the file away meanwhile, and a new one is begun.
    appendFileSync(place.file, line, { mode: 0o600 });
  } catch {
    // The disk may be full or read-only: say it where someone may see it.
    process.stderr.write(line);
  }
}

/**
 * True where standard error goes to the journal of systemd: it names the stream by device and inode (systemd.exec(5),
 * `$JOURNAL_STREAM`), and a child whose stream was turned elsewhere inherits the name.
 */
export function isJournal(environment: NodeJS.ProcessEnv): boolean {
  if (!environment.JOURNAL_STREAM) return false;
  const { dev, ino } = fstatSync(2);
  return environment.JOURNAL_STREAM === `${dev}:${ino}`;
}

/** One JSON object a line, with its level. `ready`: the library for it is loaded now, else at the first line. */
export function logTo(place: LogPlace, { ready = false, bytes = LOG_BYTES } = {}): Log {
  let logger: Pino.Logger | undefined;
  const loggerOf = (): Pino.Logger => {
    const { pino }: typeof Pino = createRequire(import.meta.url)('pino');
    return pino(
      {
        base: { pid: process.pid },
        timestamp: pino.stdTimeFunctions.isoTime,
        formatters: { level: (level) => ({ level }) },
        serializers: { err: errorFields },
      },
      { write: (line) => writeTo(place, line, bytes) },
    );
  };
  if (ready) logger = loggerOf();
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
