/**
 * Tells systemd that the bot is ready, how it is, and that it is alive (sd_notify(3), systemd.service(5): Type=notify,
 * WatchdogSec=). Node has no datagram sockets of the Unix kind, so `systemd-notify`, which comes with systemd, sends for it;
 * the service needs NotifyAccess=all for that.
 */
import { execFile } from 'node:child_process';

export interface ServiceManager {
  ready(status: string): void;
  stopping(): void;
  stop(): void;
}

export interface ServiceManagerParts {
  environment: NodeJS.ProcessEnv;
  /** True while the bot does its work: otherwise the watchdog is told nothing, and systemd starts the bot anew. */
  isAlive: () => boolean;
  status: () => string;
  /** Is told once where the service manager cannot be told anything. */
  onFault: (error: unknown) => void;
}

const silent: ServiceManager = { ready: () => undefined, stopping: () => undefined, stop: () => undefined };

/** How often the watchdog is told, in ms: twice in its time; null where there is none. */
function watchdogMs({ WATCHDOG_USEC, WATCHDOG_PID }: NodeJS.ProcessEnv): number | null {
  const microseconds = Number(WATCHDOG_USEC);
  if (!(microseconds > 0)) return null;
  // The launcher may have handed over to another process: the number is then that of its parent.
  if (WATCHDOG_PID && ![process.pid, process.ppid].includes(Number(WATCHDOG_PID))) return null;
  return microseconds / 2000;
}

/** Does nothing where the bot was not started by systemd as a service that notifies. */
export function serviceManager({
  environment,
  isAlive,
  status,
  onFault,
}: ServiceManagerParts): ServiceManager {
  if (!environment.NOTIFY_SOCKET) return silent;
  let failed = false;
  const tell = (...lines: string[]): void => {
    execFile('systemd-notify', lines, { env: environment, timeout: 10_000 }, (error) => {
      if (error && !failed) onFault(error);
      failed = error !== null;
    });
  };
  const every = watchdogMs(environment);
  let timer: NodeJS.Timeout | undefined;
  return {
    ready: (words) => {
      tell('READY=1', `MAINPID=${process.pid}`, `STATUS=${words}`);
      if (every === null) return;
      timer = setInterval(() => {
        if (isAlive()) tell('WATCHDOG=1', `STATUS=${status()}`);
      }, every);
      timer.unref();
    },
    stopping: () => tell('STOPPING=1', 'STATUS=Ending'),
    stop: () => clearInterval(timer),
  };
}
