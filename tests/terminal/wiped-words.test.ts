/** Words that are removed from a job, looked for in every file that a bot in use leaves on the disk. */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { openSealedStore } from '../../src/store/sealed-store.ts';
import { openPrompt } from '../../src/surfaces/terminal/prompt.ts';
import { createSession } from '../../src/surfaces/terminal/session.ts';
import { openJob } from '../some-job.ts';
import { knowledge, refusalOf, testBot, wordsOf } from '../test-bot.ts';
import { newWindow } from './new-session.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'thirdhand-wiped-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const WORDS = 'Quincewort of Harbour Lane';
const filesWith = (word: string): string[] =>
  readdirSync(folder).filter((name) => readFileSync(join(folder, name)).includes(word));
const now = new Date('2026-03-02T09:00:00Z');

it('are in none: not in the store, its journal, saved answers, buttons or the history of the prompt', async () => {
  const { database } = openSealedStore({ data: folder });
  const collective = database.collectives.create('Tin Shed', { region: 'AU' });
  const store = database.of(collective);
  const job = openJob(store, { name: 'Ines', key: 'terminal:Ines' }, now);
  const log = () => {
    throw new Error('a fault');
  };
  const session = createSession({
    database,
    knowledge: knowledge(),
    collective: 'Tin Shed',
    persona: { name: 'Ines', role: 'member' },
    direct: false,
    clock: () => now,
    log,
  });
  const elsewhere = createDispatcher({
    database,
    knowledge: knowledge(),
    commands,
    makeId: () => `t${Math.random()}`,
    log,
  });
  const ask = (requestId: string, line: string) =>
    elsewhere.handle({
      collective: collective.id,
      person: { key: 'terminal:Ines', name: 'Ines', role: 'member' },
      direct: false,
      now,
      requestId,
      say: { line },
    });
  const { input, output, screen } = newWindow();
  const left = openPrompt({
    session,
    input,
    output,
    colour: false,
    historyFile: join(folder, 'history'),
    outFolder: null,
  });
  const type = async (line: string) => {
    input.write(`${line}\n`);
    await new Promise((resolve) => setImmediate(resolve));
  };
  await type(`/job log "${WORDS}" as:words job:${job}`);
  // Saved answers and buttons that have the words.
  ask('r-1', `/job log oddity:"${WORDS}" job:${job}`);
  ask('r-2', `/job show job:${job}`);
  ask('r-3', '/help caution');
  ask('r-4', `/read "${WORDS}, dead"`);
  store.choices.save(
    [
      {
        token: 'button',
        person: null,
        label: WORDS,
        invoke: { command: 'read', action: '', options: { text: `${WORDS}, dead` } },
        subject: null,
        revision: null,
      },
    ],
    now,
  );
  const answered = (id: string) => JSON.stringify(store.requests.answered(id));
  for (const id of ['r-1', 'r-2']) expect(answered(id)).toContain('Quincewort');
  expect(filesWith('Quincewort').sort()).toEqual(expect.arrayContaining(['history', 'thirdhand.sqlite-wal']));

  await type(`/job wipe 1 job:${job}`);
  await type(`/job wipe 2 job:${job}`);
  expect(screen()).toContain('The history of this prompt is emptied, too.');
  expect(filesWith('Quincewort')).toEqual([]);
  for (const id of ['r-1', 'r-2', 'r-4']) expect(answered(id)).not.toContain('Quincewort');
  expect(answered('r-3')).toContain('/caution');
  expect(store.choices.take('button', now)).toBeNull();
  // A request that comes again is not done again.
  expect(ask('r-1', `/job log oddity:"${WORDS}" job:${job}`).title).toBe(
    'That was answered when you first said it',
  );
  expect(store.jobs.get(job)?.entries).toHaveLength(2);
  const shown = session.say(`/job show job:${job}`);
  expect(wordsOf(shown)).toContain('words removed by Ines');
  input.end();
  await left;
  database.close();
  expect(filesWith('Quincewort')).toEqual([]);
  expect(filesWith('Tin Shed')).toEqual(expect.arrayContaining(['thirdhand.sqlite']));
});

it('can be removed by who wrote them and by a steward, and only where there are any', () => {
  const bot = testBot();
  const job = openJob(bot.store, { name: 'Ines', key: 'terminal:Ines' }, now);
  for (const what of ['first', 'second']) bot.say(`/job log "${WORDS} ${what}" as:words job:${job}`);
  bot.say(`/job log minutes:5 job:${job}`);
  expect(refusalOf(bot.say(`/job wipe 1 job:${job}`, { as: 'Wren' }))).toMatchObject({ code: 'not-allowed' });
  expect(refusalOf(bot.say(`/job wipe 9 job:${job}`))).toMatchObject({ code: 'not-found' });
  expect(refusalOf(bot.say(`/job wipe 3 job:${job}`))).toMatchObject({ code: 'wrong-state' });
  expect(bot.say(`/job wipe 1 job:${job}`).data).toMatchObject({ wiped: { job, entry: 1 } });
  expect(bot.say(`/job wipe 2 job:${job}`, { as: 'Bram', role: 'steward' }).outcome).toBe('answered');
  expect(refusalOf(bot.say(`/job wipe 2 job:${job}`))).toMatchObject({ code: 'wrong-state' });
  const shown = wordsOf(bot.say(`/job show job:${job}`));
  expect(shown).toContain('words removed by Ines');
  expect(shown).toContain('words removed by Bram');
  expect(JSON.stringify(bot.dump())).not.toContain('Quincewort');
});

it('every kind of entry loses its words, and keeps what it counts for', () => {
  const bot = testBot();
  const job = openJob(bot.store, { name: 'Ines', key: 'terminal:Ines' }, now);
  for (const line of [
    `/job log oddity:"${WORDS}"`,
    `/job log reading:"3.82 V ${WORDS}"`,
    `/job answer ownership:shown note:"${WORDS}"`,
    `/job wait other note:"${WORDS}"`,
    `/job test waived:touch why:"${WORDS}"`,
  ])
    bot.say(`${line} job:${job}`);
  const entries = bot.store.jobs.get(job)?.entries ?? [];
  const kinds = entries.map(({ entry }) => entry.kind);
  expect(kinds).toEqual(expect.arrayContaining(['oddity', 'reading', 'answer', 'waiting']));
  bot.say(`/job strike 1 why:"${WORDS}" job:${job}`);
  for (const { seq } of entries) {
    const said = bot.say(`/job wipe ${seq} job:${job}`);
    expect(said.outcome, JSON.stringify(said)).toBe('answered');
  }
  expect(JSON.stringify(bot.dump())).not.toContain('Quincewort');
  expect(bot.store.jobs.get(job)?.entries.map(({ entry }) => entry.kind)).toEqual(kinds);
  expect(wordsOf(bot.say(`/job page job:${job}`))).not.toContain('removed by');
});

it('who removed them is a person, whose name goes with an erasure of theirs', () => {
  const bot = testBot();
  const job = openJob(bot.store, { name: 'Ines', key: 'terminal:Ines' }, now);
  bot.say(`/job log "${WORDS}" as:words job:${job}`);
  bot.say(`/job wipe 1 job:${job}`, { as: 'Bramblewick', role: 'steward' });
  expect(JSON.stringify(bot.dump())).toContain('Bramblewick');
  bot.say('/mydata erase sure:yes', { as: 'Bramblewick', direct: true });
  expect(JSON.stringify(bot.dump().job_entries)).not.toContain('Bramblewick');
});
