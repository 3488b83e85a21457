/** Words outside the log of a job that their author or a steward removes for good: of traces, swap reports, parts and dangers. */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { openSealedStore } from '../../src/store/sealed-store.ts';
import { must, mustRefuse } from '../must.ts';
import { knowledge, refusalOf, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const WORDS = 'Quincewort of Harbour Lane';
const MODEL = '/family name "Orrin K3" as:glued-front-home-sensor';

interface Scene {
  /** What writes the words, by Ines. */
  write: string[];
  wipe: string;
  /** Shows the record. */
  show: string;
  /** What is left of it besides its words. */
  left: RegExp;
}
const scenes: Readonly<Record<string, Scene>> = {
  'a trace': {
    write: [`/trace dead model:"Orrin K3" words:"${WORDS}"`],
    wipe: '/trace wipe 1',
    show: '/trace show 1',
    left: /Trace 1/,
  },
  'a swap report': {
    write: [`/swap battery effect:notice of:"Orrin K3" grade:used saw:"${WORDS}" mended:"by ${WORDS}"`],
    wipe: '/swap wipe 1',
    show: '/swap list',
    left: /battery, used/,
  },
  'a part': {
    write: [
      `/shelf add battery of:"Orrin K3" grade:copy price:14 from:"${WORDS}" place:"with ${WORDS}"`,
      `/shelf gone 1 why:"given to ${WORDS}"`,
    ],
    wipe: '/shelf wipe 1',
    show: '/shelf show 1',
    left: /Part 1: battery/,
  },
  'a danger': {
    write: [
      '/job open "Orrin K3" symptoms:dead came:given',
      '/danger swollen job:1',
      `/danger isolated who:"${WORDS}" job:1`,
    ],
    wipe: '/danger wipe job:1',
    show: '/danger show job:1',
    left: /isolated/,
  },
};
const each = Object.entries(scenes).map(([what, scene]) => [what, scene] as const);

function bench({ write }: Scene): TestBot {
  const bot = testBot();
  for (const line of [MODEL, ...write]) must(bot, line);
  return bot;
}

describe('the words of', () => {
  it.each(each)('%s go at the word of who wrote them, who is named in their place', (_, scene) => {
    const bot = bench(scene);
    expect(JSON.stringify(bot.dump())).toContain('Quincewort');
    must(bot, scene.wipe);
    expect(JSON.stringify(bot.dump())).not.toContain('Quincewort');
    const shown = wordsOf(bot.say(scene.show, { as: 'Wren' }));
    expect(shown).toContain('words removed by Ines');
    expect(shown).toMatch(scene.left);
    expect(refusalOf(bot.say(scene.wipe))).toMatchObject({ code: 'wrong-state' });
  });

  it.each(each)('%s stay for anybody else, and go for a steward', (_, scene) => {
    const bot = bench(scene);
    mustRefuse(bot, scene.wipe, 'not-allowed', { as: 'Wren' });
    expect(JSON.stringify(bot.dump())).toContain('Quincewort');
    must(bot, scene.wipe, { as: 'Bramblewick', role: 'steward' });
    expect(JSON.stringify(bot.dump())).not.toContain('Quincewort');
    expect(wordsOf(bot.say(scene.show))).toContain('words removed by Bramblewick');
    // Who removed them is a person, whose name goes with an erasure of theirs.
    bot.say('/mydata erase sure:yes', { as: 'Bramblewick', direct: true });
    expect(JSON.stringify(bot.dump().words_wiped)).toContain('someone who left');
  });

  it('others in the same record stay: each removes their own', () => {
    const bot = bench(scenes['a swap report'] ?? { write: [], wipe: '', show: '', left: /./ });
    must(bot, '/swap aside 1 why:"Zebrawood says so"', { as: 'Bram', role: 'steward' });
    must(bot, '/swap wipe 1');
    const shown = wordsOf(bot.say('/swap list'));
    expect(shown).toContain('Zebrawood');
    expect(shown).not.toContain('Quincewort');
    must(bot, '/swap wipe 1', { as: 'Bram', role: 'steward' });
    expect(JSON.stringify(bot.dump())).not.toContain('Zebrawood');
  });

  it('a place of one letter goes from the part, and no other answer is touched', () => {
    const bot = testBot();
    for (const line of [MODEL, '/shelf add battery of:"Orrin K3" grade:copy price:14 place:"B"'])
      must(bot, line);
    bot.say('/help caution', { requestId: 'another' });
    must(bot, '/shelf wipe 1');
    expect(bot.store.shelf.get(1)?.place).toBe('');
    expect(JSON.stringify(bot.store.requests.answered('another'))).toContain('/caution');
  });
});

describe('in the files', () => {
  let folder = '';
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'thirdhand-wiped-'));
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));
  const filesWith = (word: string): string[] =>
    readdirSync(folder).filter((name) => readFileSync(join(folder, name)).includes(word));

  it.each(each)('nothing of %s is left in the store and its journal', (_, scene) => {
    const { database } = openSealedStore({ data: folder });
    const collective = database.collectives.create('Tin Shed', { region: 'AU' });
    const dispatcher = createDispatcher({
      database,
      knowledge: knowledge(),
      commands,
      makeId: () => `t${Math.random()}`,
      log: () => {
        throw new Error('a fault');
      },
    });
    let asked = 0;
    const say = (line: string): Reply => {
      asked += 1;
      return dispatcher.handle({
        collective: collective.id,
        person: { key: 'terminal:Ines', name: 'Ines', role: 'member' },
        direct: false,
        now: new Date('2026-03-02T09:00:00Z'),
        requestId: `r-${asked}`,
        say: { line },
      });
    };
    for (const line of [MODEL, ...scene.write, scene.show]) expect(say(line).outcome, line).toBe('answered');
    expect(filesWith('Quincewort')).not.toEqual([]);
    expect(say(scene.wipe).outcome).toBe('answered');
    expect(filesWith('Quincewort')).toEqual([]);
    expect(say(scene.show).outcome).toBe('answered');
    database.close();
    expect(filesWith('Quincewort')).toEqual([]);
    expect(filesWith('Tin Shed')).not.toEqual([]);
  });
});
