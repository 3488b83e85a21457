/** What is said in private, looked for in every file that a bot in use leaves on the disk. */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { copyStore } from '../../shared/store/index.ts';
import { logTo } from '../../src/environment/log.ts';
import { openSealedStore } from '../../src/store/sealed-store.ts';
import { openPrompt } from '../../src/surfaces/terminal/prompt.ts';
import { createSession } from '../../src/surfaces/terminal/session.ts';
import { openJob } from '../some-job.ts';
import { knowledge } from '../test-bot.ts';
import { newWindow } from './new-session.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-clear-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** Files in which any of the words stands: as UTF-8, as UTF-16, in base64 at each of its three shifts, or in hex. */
function filesWith(words: readonly string[]): string[] {
  const forms = words.flatMap((word) => [
    Buffer.from(word),
    Buffer.from(word, 'utf16le'),
    Buffer.from(word).toString('hex'),
    ...[0, 1, 2].flatMap((shift) =>
      (['base64', 'base64url'] as const).map((form) =>
        // The ends of a shifted text hang on what stands beside it.
        Buffer.concat([Buffer.alloc(shift), Buffer.from(word)])
          .toString(form)
          .replace(/=+$/, '')
          .slice(shift + 1, -1),
      ),
    ),
  ]);
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map(({ parentPath, name }) => join(parentPath, name))
    .filter((path) => {
      const bytes = readFileSync(path);
      return forms.some((form) => bytes.includes(form));
    })
    .map((path) => path.slice(folder.length + 1));
}

it('is found in none: not in the store, its journal or its copy, not in history or log', async () => {
  const { database } = openSealedStore({ data: folder });
  const path = join(folder, 'thirdhand.sqlite');
  const collective = database.collectives.create('Tin Shed', { region: 'AU' });
  const now = new Date('2026-03-02T09:00:00Z');
  const IMEI = '490154203237518';
  openJob(database.of(collective), { name: 'Ines', key: 'terminal:Ines' }, now, IMEI);
  const session = createSession({
    database,
    knowledge: knowledge(),
    collective: 'Tin Shed',
    persona: { name: 'Ines', role: 'steward' },
    direct: false,
    clock: () => now,
    log: logTo({ file: join(folder, 'thirdhand.log') }),
  });
  // A fault in the middle of a note: the store itself turns this one down.
  const raw = new Sqlite(path);
  raw.exec(
    "CREATE TRIGGER no_third BEFORE INSERT ON notes WHEN NEW.number = 3 BEGIN SELECT raise(ABORT, 'no'); END",
  );
  raw.close();

  const { input, output, screen } = newWindow();
  const left = openPrompt({
    session,
    input,
    output,
    colour: false,
    historyFile: join(folder, 'history'),
    outFolder: join(folder, 'out'),
  });
  for (const line of [
    '/help caution',
    '/note add "Quincewort in the room"',
    '/noet add "Quincewort after a slip"',
    'note add Quincewort without a slash',
    '/job open "Orrin K3" imei:490154203237518',
    '/in direct',
    '/note add "Marmalade ordered"',
    '/note add "Damson on the job" job:1',
    '/note add "Bullace goes wrong"',
    '/note edit 1 text:"Medlar ordered instead"',
    '/note search Medlar',
    '/note list',
    '/note add "passcode 8264 Sorbapple"',
    '/note erase 2',
    '/in workshop',
    '/help note',
    '/quit',
  ]) {
    input.write(`${line}\n`);
    await new Promise((resolve) => setImmediate(resolve));
  }
  input.end();
  await left;

  const words = ['Quincewort', 'Marmalade', 'Damson', 'Bullace', 'Medlar', 'Sorbapple'];
  copyStore(join(folder, 'thirdhand.sqlite'), join(folder, 'copy.sqlite'));
  // All of it was said: the notes are there to be listed, and the fault was met.
  session.direct = true;
  expect(session.say('/note list').data).toMatchObject({
    total: 1,
    notes: [{ text: 'Medlar ordered instead' }],
  });
  expect(screen()).toContain('The log has it under');
  expect(readdirSync(folder).sort()).toEqual([
    'copy.sqlite',
    'history',
    'key',
    'thirdhand.log',
    'thirdhand.sqlite',
    'thirdhand.sqlite-shm',
    'thirdhand.sqlite-wal',
  ]);

  const look = () => {
    expect(filesWith([...words, IMEI])).toEqual([]);
    // The look itself works: what is kept in the clear is found.
    expect(filesWith(['/help note'])).toEqual(['history']);
    expect(filesWith(['Tin Shed']).sort()).toEqual(
      expect.arrayContaining(['copy.sqlite', 'thirdhand.sqlite']),
    );
    expect(filesWith(['SqliteError'])).toEqual(['thirdhand.log']);
  };
  look();
  database.close();
  look();
});
