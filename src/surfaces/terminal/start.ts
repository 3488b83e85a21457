/** The bot at a terminal: a prompt, a script, the tour, and the clock of the one collective that is spoken for. */
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { roleWords } from '../../../commands/framework/admission.ts';
import type { Knowledge } from '../../../knowledge/load.ts';
import { render } from '../../../shared/language/render.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Clock } from '../../clock/scheduler.ts';
import type { Log } from '../../environment/log.ts';
import type { Settings } from '../../environment/program-settings.ts';
import { wrap } from '../text.ts';
import { drawingWidth, renderFrontAsText, type Window } from '../text-render.ts';
import { DEMO_ZONE } from './demo.ts';
import { runScript } from './script.ts';
import { createSession, type Session } from './session.ts';

const interactive = Boolean(process.stdin.isTTY && process.stdout.isTTY);
const write = (text: string): void => {
  process.stdout.write(text);
};

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

/** Waits for Enter, so that a page can be read; at the end of the input it goes on by itself. */
async function turnPage(): Promise<void> {
  const lines = createInterface({ input: process.stdin, output: process.stdout });
  await new Promise<void>((resolve) => {
    lines.once('close', resolve);
    lines.question(`\n${render(say`(Enter: on with the tour)`)} `, () => lines.close());
  });
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
    import('../../clock/scheduler.ts'),
    import('./poster.ts'),
  ]);
  const poster = filePoster(folder, (path) =>
    tell(render(say`The week is posted: ${typed(path)}`, session.language())),
  );
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
  const { openPrompt } = await import('./prompt.ts');
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
  const [{ playTour }, { saveFiles }] = await Promise.all([import('./tour.ts'), import('./files.ts')]);
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
        write(`\n${name} > ${typed}\n\n${renderFrontAsText(reply, window, notes)}`);
        if (interactive) await turnPage();
      });
    },
  });
  for (const page of pages) await page();
}

export interface TerminalParts {
  settings: Settings;
  database: Database;
  knowledge: Knowledge;
  log: Log;
}

/** Runs what the settings ask for, until the input ends; gives the exit code. */
export async function startTerminal({ settings, database, knowledge, log }: TerminalParts): Promise<number> {
  const window: Window = { width: drawingWidth(process.stdout.columns), colour: settings.colour };
  // A time that was made up ends nothing for good.
  if (settings.now !== null) database.clock.hold();
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
    write(`${done.length ? done.join('\n') : render(say`Nothing is due.`, session.language())}\n`);
  }
  if (settings.run.length || settings.tick) return ran;
  if (!interactive) return await runScript(createInterface({ input: process.stdin }), script);
  const { name, role } = session.persona;
  const front = [
    say`Thirdhand. /help says what you can say; /quit leaves.`,
    say`Whoever sits here is taken for ${verbatim(name)}, a ${roleWords[role]} of ${verbatim(session.collective)}, private notes included. Somebody else says ${typed('/as NAME')} first.`,
  ];
  for (const line of front) write(`${wrap(render(line, session.language()), window.width).join('\n')}\n`);
  write('\n');
  await prompt(session, settings, clockWith);
  return 0;
}
