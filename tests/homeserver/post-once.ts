/**
 * A program that posts the week to a Matrix room, as far as it is due, and may kill itself on the way:
 * `post-once DATABASE ROOM NOW [MOMENT]`, with the Matrix settings in the environment. MOMENT is a step of the clock, or
 * `in-picture`: when the words stand in the room and the picture is still to be drawn.
 */
import { randomUUID } from 'node:crypto';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { createClock } from '../../src/clock/scheduler.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { readMatrixSettings } from '../../src/surfaces/matrix/settings.ts';
import { startMatrix } from '../../src/surfaces/matrix/start.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';

const [path = '', room = '', now = '', moment = ''] = process.argv.slice(2);
const reach = (step: string): void => {
  if (step === moment) process.kill(process.pid, 'SIGKILL');
};
const settings = readMatrixSettings(process.env);
if (!settings) throw new Error('no homeserver');
const database = openDatabase(path, testSealer);
const faults: unknown[] = [];
const log = (_: string, error: unknown) => faults.push(error);
const surface = await startMatrix({
  settings,
  database,
  dispatcher: createDispatcher({ database, knowledge: knowledge(), commands, makeId: randomUUID, log }),
  commands,
  makeId: randomUUID,
  clock: () => new Date(),
  log,
  drawFile: (file) => {
    reach('in-picture');
    return drawFile(file);
  },
});
const clock = createClock({
  database,
  knowledge: knowledge(),
  placesOf: () => [{ place: `matrix:${room}`, poster: surface.posterFor(room) }],
  log,
  at: reach,
});
await clock.tick(new Date(now));
await surface.stop();
database.close();
if (faults.length) throw new Error(faults.map(String).join('; '));
