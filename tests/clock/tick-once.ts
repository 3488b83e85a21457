/**
 * A program that ticks once and may kill itself on the way: `tick-once DATABASE FOLDER PLACE NOW [MOMENT]`. PLACE is `chat`, a
 * room in which a message posted twice stands twice, or `files`, the terminal's own poster. MOMENT is a step of the clock, or
 * one of the room's: `before-post`, `after-post`, `in-edit`.
 */
import { appendFileSync, existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { openDatabase } from '../../shared/store/index.ts';
import { createClock } from '../../src/clock/scheduler.ts';
import { filePoster } from '../../src/surfaces/terminal/poster.ts';
import type { Poster } from '../../src/surfaces/weekly-poster.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';

const [path = '', folder = '', place = '', now = '', moment = ''] = process.argv.slice(2);
const reach = (step: string): void => {
  if (step === moment) process.kill(process.pid, 'SIGKILL');
};

/** One line a message: its key and title. An edit adds a line too. */
function chat(file: string): Poster {
  const lines = () => (existsSync(file) ? readFileSync(file, 'utf8').split('\n') : []);
  return {
    post: async (key, reply) => {
      reach('before-post');
      appendFileSync(file, `post ${key} ${reply.title}\n`);
      reach('after-post');
      return key;
    },
    find: async (key) => (lines().some((line) => line.startsWith(`post ${key} `)) ? key : null),
    edit: async (message, reply) => {
      reach('in-edit');
      appendFileSync(file, `edit ${message} ${reply.title}\n`);
    },
  };
}

const database = openDatabase(path, testSealer);
const faults: unknown[] = [];
await createClock({
  database,
  knowledge: knowledge(),
  placesOf: () => [
    { place: 'here', poster: place === 'chat' ? chat(join(folder, 'room')) : filePoster(folder) },
  ],
  log: (_, error) => faults.push(error),
  at: reach,
}).tick(new Date(now));
database.close();
if (faults.length) throw new Error(faults.map(String).join('; '));
