/** Starts the bot: reads the settings, opens the store and the knowledge, and hands over to the terminal. */
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { codeOf } from '../commands/fault.ts';
import { BadPack, type Knowledge, loadKnowledge, packFolder } from '../knowledge/load.ts';
import { newKey, sealerOf } from '../shared/sealing/sealer.ts';
import { type Database, openDatabase } from '../shared/store/index.ts';
import type { Clock } from './clock.ts';
import { DEMO_ZONE } from './demo.ts';
import { type Log, logTo } from './log.ts';
import { changeKey, openSealedStore } from './sealed-store.ts';
import { createSession, type Session } from './session.ts';
import { helpText, readSettings, type Settings, WrongSetting } from './settings.ts';
import { drawingWidth, drawReply, type Window } from './surfaces/terminal/draw.ts';
import { wrap } from './surfaces/terminal/layout.ts';
import { runScript } from './surfaces/terminal/script.ts';

const interactive = Boolean(process.stdin.isTTY && process.stdout.isTTY);
const write = (text: string): void => {
  process.stdout.write(text);
};

function openStore(settings: Settings): Database {
  if (settings.tour) return openDatabase(':memory:', sealerOf([newKey()]));
  const { database, lines } = openSealedStore({ ...settings, makeKey: !settings.check });
  for (const line of lines) process.stderr.write(`thirdhand: ${line}\n`);
  return database;
}

/** The clock of the session: fixed by --now, in the zone of the collective. */
async function clockOf({ now }: Settings, zone: string): Promise<() => Date> {
  if (now === null) return () => new Date();
  const { DateTime } = await import('luxon');
  const fixed = DateTime.fromISO(now, { zone }).toJSDate();
  return () => fixed;
}

async function askYes(question: string): Promise<boolean> {
  const lines = createInterface({ input: process.stdin, output: process.stdout });
  const answer = await new Promise<string>((resolve) => lines.question(`${question} [y/N] `, resolve));
  lines.close();
  return /^y(es)?$/i.test(answer.trim());
}

/** Who sits at the terminal when nobody else is named. */
const ownName = ({ tour }: Settings): string =>
  tour ? 'Ines' : (process.env.USER ?? '').replace(/[\p{C}:]/gu, '').slice(0, 40) || 'You';

/** The collective that is meant, made when it is new; the invented one is filled. */
async function openCollective(
  settings: Settings,
  database: Database,
  knowledge: Knowledge,
  log: Log,
): Promise<Session> {
  const { DEMO_COLLECTIVE, fillDemo } = await import('./demo.ts');
  const none = database.collectives.list().length === 0;
  const demo =
    settings.tour ||
    settings.demo ||
    (none &&
      interactive &&
      !settings.run.length &&
      (await askYes(
        'First time here. Open the invented collective "Tin Shed", with prices in it, to look around?',
      )));
  const name = demo ? DEMO_COLLECTIVE : settings.collective;
  const persona = settings.as ?? { name: ownName(settings), role: 'steward' };
  const open = (who: typeof persona, clock: () => Date): Session =>
    createSession({
      database,
      knowledge,
      collective: name,
      persona: who,
      direct: settings.in === 'direct',
      clock,
      log,
    });
  if (!database.collectives.find(name)) {
    if (demo) {
      const clock = await clockOf(settings, DEMO_ZONE);
      // Whole or not at all: half a demo would pass for the whole one at the next start.
      database.transaction(() => {
        database.collectives.create(name);
        fillDemo(open({ name: 'Ines', role: 'steward' }, clock), clock());
      });
    } else database.collectives.create(name);
  }
  const zone = database.collectives.find(name)?.settings.zone ?? 'UTC';
  return open(persona, await clockOf(settings, zone));
}

/** Where files of replies and weekly posts are written. */
const outFolderOf = ({ save, data }: Settings): string => save ?? join(data, 'out');

interface ClockNeeds {
  database: Database;
  knowledge: Knowledge;
  session: Session;
  folder: string;
  log: Log;
  tell: (text: string) => void;
}

/** The clock of this terminal: the weekly post of its collective becomes a file. */
async function terminalClock({
  database,
  knowledge,
  session,
  folder,
  log,
  tell,
}: ClockNeeds): Promise<Clock> {
  const [{ createClock }, { filePoster }] = await Promise.all([
    import('./clock.ts'),
    import('./surfaces/terminal/poster.ts'),
  ]);
  const poster = filePoster(folder, (path) => tell(`The week is posted: ${path}`));
  return createClock({
    database,
    knowledge,
    placesOf: ({ name }) => (name === session.collective ? [{ place: 'terminal', poster }] : []),
    log,
  });
}

async function prompt(
  session: Session,
  settings: Settings,
  clockWith?: (tell: ClockNeeds['tell']) => Promise<Clock>,
): Promise<void> {
  const { openPrompt } = await import('./surfaces/terminal/prompt.ts');
  let tell: ClockNeeds['tell'] = () => undefined;
  const clock = await clockWith?.((text) => tell(text));
  await openPrompt({
    session,
    input: process.stdin,
    output: process.stdout,
    colour: settings.colour,
    historyFile: settings.tour ? null : join(settings.data, 'history'),
    // The tour leaves nothing behind.
    outFolder: settings.tour ? null : outFolderOf(settings),
    opened: (say) => {
      tell = say;
      clock?.start(() => session.clock());
    },
  });
  await clock?.stop();
}

async function tour(
  session: Session,
  knowledge: Knowledge,
  window: Window,
  save: string | null,
): Promise<void> {
  const [{ playTour }, { saveFiles }] = await Promise.all([
    import('./tour.ts'),
    import('./surfaces/terminal/files.ts'),
  ]);
  const rule = '─'.repeat(Math.min(window.width, 60));
  /** What is shown, in order: a picture takes a while to draw. */
  const pages: (() => Promise<void> | void)[] = [];
  playTour({
    session,
    knowledge,
    zone: DEMO_ZONE,
    narrate: (text) => pages.push(() => write(`\n${rule}\n${wrap(text, window.width).join('\n')}\n`)),
    show: (typed, reply) => {
      const { name } = session.persona;
      pages.push(async () => {
        const notes = await saveFiles(reply, save, session.fault);
        write(`\n${name} > ${typed}\n\n${drawReply(reply, window, notes)}`);
      });
    },
  });
  for (const page of pages) await page();
}

async function main(): Promise<number> {
  const settings = readSettings(process.argv.slice(2), process.env, Boolean(process.stdout.isTTY));
  if (settings.help) {
    write(helpText);
    return 0;
  }
  const window: Window = { width: drawingWidth(process.stdout.columns), colour: settings.colour };
  const knowledge = loadKnowledge(
    settings.knowledge === undefined ? undefined : [packFolder, settings.knowledge],
  );
  if (settings.newKey) {
    for (const line of changeKey(settings)) write(`${line}\n`);
    return 0;
  }
  const database = openStore(settings);
  try {
    if (settings.backup !== null) {
      await database.backup(settings.backup);
      write(`The store is copied to ${settings.backup}.\n`);
      return 0;
    }
    if (settings.check) {
      const { check } = await import('./check.ts');
      const { sound, lines } = await check(database, knowledge, process.env);
      write(`${lines.join('\n')}\n`);
      return sound ? 0 : 1;
    }
    const log = logTo(settings.tour ? null : join(settings.data, 'thirdhand.log'));
    if (settings.serve) {
      const { serve, signalled } = await import('./serve.ts');
      const say = (line: string) => write(`${line}\n`);
      const { data } = settings;
      return await serve({
        database,
        knowledge,
        data,
        environment: process.env,
        log,
        write: say,
        until: signalled(),
      });
    }
    const session = await openCollective(settings, database, knowledge, log);
    if (settings.tour) {
      await tour(session, knowledge, window, settings.save);
      if (interactive) await prompt(session, settings);
      return 0;
    }
    const script = { session, json: settings.json, window, save: settings.save, write };
    const clockWith = (tell: ClockNeeds['tell']) =>
      terminalClock({
        database,
        knowledge,
        session,
        folder: outFolderOf(settings),
        log,
        tell,
      });
    const ran = settings.run.length ? await runScript(settings.run, script) : 0;
    if (settings.tick) {
      const done: string[] = [];
      const clock = await clockWith((text) => done.push(text));
      await clock.tick(session.clock());
      write(`${done.length ? done.join('\n') : 'Nothing is due.'}\n`);
    }
    if (settings.run.length || settings.tick) return ran;
    if (!interactive) return await runScript(createInterface({ input: process.stdin }), script);
    write('Thirdhand. /help says what you can say; /quit leaves.\n\n');
    await prompt(session, settings, clockWith);
    return 0;
  } finally {
    database.close();
  }
}

/** A start that cannot be gets one clear line, without a stack. */
const clearLine = (error: unknown): string => {
  if (error instanceof BadPack) {
    const [first] = error.problems;
    const more = error.problems.length - 1;
    return `The knowledge pack is not right: ${first ? `${first.file}:${first.line} ${first.problem}` : ''}${more > 0 ? ` (and ${more} more)` : ''}. npm run knowledge lists all.`;
  }
  if (error instanceof WrongSetting) return error.message;
  if (!(error instanceof Error)) return String(error);
  const code = codeOf(error);
  if (/^(SQLITE_BUSY|SQLITE_LOCKED)/.test(code))
    return 'The store is in use by another bot. Stop that one, or choose another folder with --data.';
  if (/^(SQLITE_FULL|SQLITE_IOERR|ENOSPC|EDQUOT|EFBIG)/.test(code))
    return `The disk is full, or takes nothing more: ${error.message}. Make room, and start again; what was saved before is there.`;
  if (/^(SQLITE_CORRUPT|SQLITE_NOTADB|BAD_ROW)/.test(code))
    return `The store is damaged (${error.message}). Keep the file, and put a copy made by --backup in its place.`;
  if (/^(EACCES|EROFS|EPERM|ENOTDIR|SQLITE_CANTOPEN|SQLITE_READONLY)/.test(code))
    return `The data folder cannot be written: ${error.message}. Choose another with --data.`;
  return error.message;
};

// A reader that has seen enough, such as head, is no fault.
process.stdout.on('error', (error: NodeJS.ErrnoException) => process.exit(error.code === 'EPIPE' ? 0 : 1));

try {
  process.exitCode = await main();
} catch (error) {
  process.stderr.write(`thirdhand: ${clearLine(error)}\n`);
  process.exitCode = 1;
}
// A platform that could not be reached is still being tried: nothing hangs on that any more.
if (process.argv.includes('--serve')) process.exit();
