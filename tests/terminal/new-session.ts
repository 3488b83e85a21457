/** A session at a terminal on a store in memory, and a window that keeps what is written in it. */
import { PassThrough } from 'node:stream';
import type { CollectiveSettings } from '../../shared/collective/collective-settings.ts';
import { openDatabase, type Store } from '../../shared/store/index.ts';
import { createSession, type Session } from '../../src/surfaces/terminal/session.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';

/** Ines, a steward of Tin Shed. */
export function newSession(
  settings: Partial<CollectiveSettings>,
  now: string,
  prepare: (store: Store) => void = () => {},
): Session {
  const database = openDatabase(':memory:', testSealer);
  prepare(database.of(database.collectives.create('Tin Shed', settings)));
  return createSession({
    database,
    knowledge: knowledge(),
    collective: 'Tin Shed',
    persona: { name: 'Ines', role: 'steward' },
    direct: false,
    clock: () => new Date(now),
    log: (_, error) => {
      throw error;
    },
  });
}

/** 80 columns wide. */
export function newWindow(isTTY = false) {
  const input = new PassThrough();
  const output = Object.assign(new PassThrough(), { columns: 80, ...(isTTY ? { isTTY } : {}) });
  let screen = '';
  output.on('data', (chunk: Buffer) => {
    screen += chunk.toString();
  });
  return { input, output, screen: () => screen };
}
