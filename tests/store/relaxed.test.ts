import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { type Database, openDatabase } from '../../shared/store/index.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';

let folder: string;
let database: Database;
const path = () => join(folder, 'store.sqlite');
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-light-'));
  database = openDatabase(path(), testSealer);
});
afterEach(() => {
  database.close();
  rmSync(folder, { recursive: true });
});
const log = () => statSync(`${path()}-wal`).size;
const save = (name: string) => () => database.collectives.create(name);
const light = (name: string, lasting: boolean) =>
  database.relaxedTransaction((lasts) => {
    if (lasting) lasts();
    return save(name)();
  });

describe('a light transaction', () => {
  it('saves what a transaction saves', () => {
    light('Tin Shed', false);
    light('Loft', true);
    database.close();
    database = openDatabase(path(), testSealer);
    expect(database.collectives.list().map(({ name }) => name)).toEqual(['Tin Shed', 'Loft']);
  });

  it('saves nothing when its work throws, and the next one works', () => {
    const fail = () =>
      database.relaxedTransaction(() => {
        save('Tin Shed')();
        throw new Error('no');
      });
    expect(fail).toThrow('no');
    expect(database.collectives.list()).toEqual([]);
    database.transaction(save('Loft'));
    expect(database.collectives.list()).toHaveLength(1);
  });

  it('makes a second commit, which waits for the disk, only for what is to last', () => {
    const grown = (lasts: boolean, name: string): number => {
      const before = log();
      light(name, lasts);
      return log() - before;
    };
    // Warmed up, so that each writes the same pages.
    grown(false, 'a');
    expect(grown(true, 'b')).toBeGreaterThan(grown(false, 'c'));
  });

  it('waits for the disk once for several that are run together, also when one of them throws', () => {
    const grown = (work: () => void): number => {
      const before = log();
      work();
      return log() - before;
    };
    const each = (lasts: boolean, ...names: string[]): void => {
      for (const name of names) light(name, lasts);
    };
    each(false, 'a');
    const relaxed = grown(() => each(false, 'b', 'c', 'd'));
    const apart = grown(() => each(true, 'e', 'f', 'g'));
    const together = grown(() => database.together(() => each(true, 'h', 'i', 'j')));
    expect(together).toBeGreaterThan(relaxed);
    expect(apart).toBeGreaterThan(together);
    const thrown = grown(() =>
      expect(() =>
        database.together(() => {
          each(true, 'k', 'l', 'm');
          throw new Error('no');
        }),
      ).toThrow('no'),
    );
    expect(thrown).toBeGreaterThan(relaxed);
    expect(grown(() => each(true, 'n', 'o', 'p'))).toBeGreaterThan(thrown);
  });

  it('within another is a part of that one', () => {
    const work = () =>
      database.transaction(() => {
        light('Tin Shed', true);
        throw new Error('no');
      });
    expect(work).toThrow('no');
    expect(database.collectives.list()).toEqual([]);
  });
});

describe('the dispatcher', () => {
  it('waits for the disk exactly for what changes something', () => {
    const waited: boolean[] = [];
    const watched: Database = {
      ...database,
      relaxedTransaction: (work) => {
        let lasting = false;
        const result = database.relaxedTransaction((lasts) =>
          work(() => {
            lasting = true;
            lasts();
          }),
        );
        waited.push(lasting);
        return result;
      },
    };
    const collective = database.collectives.create('Tin Shed');
    let ids = 0;
    const dispatcher = createDispatcher({
      database: watched,
      knowledge: knowledge(),
      commands,
      makeId: () => {
        ids += 1;
        return `id-${ids}`;
      },
      log: () => undefined,
    });
    const lasting = (line: string): boolean | undefined => {
      dispatcher.handle({
        collective: collective.id,
        person: { key: 'terminal:Ines', name: 'Ines', role: 'steward' },
        direct: line.startsWith('/note'),
        now: new Date('2026-03-02T09:00:00Z'),
        requestId: `request-${ids}-${line}`,
        say: { line },
      });
      return waited.at(-1);
    };
    for (const line of [
      '/help',
      '/caution heat',
      '/paired glued-front-home-sensor',
      '/worth glued-front-home-sensor price:20 symptoms:dead',
      '/family list',
      '/prices list',
      '/job list',
    ])
      expect([line, lasting(line)]).toEqual([line, false]);
    for (const line of [
      '/setup region:AU',
      '/family name model:"Orrin K3" as:glued-front-home-sensor',
      '/prices add "Orrin K3" price:120',
      '/job open "Orrin K3" came:given',
      '/trace dead model:"Orrin K3"',
      '/note add "back glass ordered"',
    ])
      expect([line, lasting(line)]).toEqual([line, true]);
    expect(waited).toHaveLength(13);
  });
});
