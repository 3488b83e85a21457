import { beforeEach, describe, expect, it } from 'vitest';
import type { Action } from '../../commands/framework/command.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import { noteErasedData } from '../../commands/note/erase.ts';
import { note } from '../../commands/note/index.ts';
import { noteListData, noteSavedData } from '../../commands/note/reply.ts';
import { eraseOldNotes } from '../../shared/notes/kept.ts';
import { closeJob, openJob } from '../some-job.ts';
import { refusalOf, type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';

let tin: TestBot;
beforeEach(() => {
  tin = testBot();
});
const direct = { direct: true } as const;
const say = (line: string, how: Saying = {}): Reply => tin.say(line, { ...direct, ...how });
const savedOf = (reply: Reply) => noteSavedData.parse(reply.data).saved;
const listed = (reply: Reply) => noteListData.parse(reply.data);
const textsOf = (reply: Reply) => listed(reply).notes.map(({ text }) => text);
const DAY = 24 * 3600 * 1000;
const later = (days: number) => {
  const then = tin.now.getTime() + days * DAY;
  // A clock that leaps is not believed: it goes there in steps.
  for (let at = tin.now.getTime(); at < then; at += 20 * DAY) tin.database.clock.trusts(new Date(at));
  return new Date(then);
};

const ines = { name: 'Ines', key: 'terminal:Ines' };

describe('/note', () => {
  it('keeps notes, lists them newest first, and counts them for each person apart', () => {
    expect(savedOf(say('/note add "back glass ordered"'))).toMatchObject({
      number: 1,
      job: null,
      goes: null,
    });
    expect(savedOf(say('/note add ask Moss about the long screws'))).toMatchObject({
      number: 2,
      text: 'ask Moss about the long screws',
    });
    expect(savedOf(say('/note add "first of Wren"', { as: 'Wren' })).number).toBe(1);
    expect(textsOf(say('/note'))).toEqual(['ask Moss about the long screws', 'back glass ordered']);
    expect(textsOf(say('/note list', { as: 'Wren' }))).toEqual(['first of Wren']);
    expect(say('/note list', { as: 'Bram' }).title).toBe('No note yet');
  });

  it('is for the asker alone, whatever the number, and for members', () => {
    say('/note add "back glass ordered"');
    const before = tin.dump();
    for (const line of ['/note edit 1 text:mine', '/note erase 1'])
      expect(say(line, { as: 'Wren' }).title).toBe('You have no note 1.');
    expect(listed(say('/note search "back glass"', { as: 'Wren', role: 'steward' })).total).toBe(0);
    expect(say('/note list', { role: 'visitor' })).toMatchObject({
      audience: 'asker',
      data: { code: 'not-allowed' },
    });
    for (const line of ['/note list', '/note search glass', '/note add x'])
      expect(say(line).audience).toBe('asker');
    expect(tin.dump().notes?.slice(0, 1)).toEqual(before.notes);
  });

  it('is sealed in the store, and so are the choices; the reply is not kept', () => {
    for (let n = 0; n < 11; n += 1) say(`/note add "the Quincewort order ${n}"`, { requestId: `r-${n}` });
    expect(say('/note list', { requestId: 'r-l' }).choices).toHaveLength(1);
    expect(JSON.stringify(tin.dump())).not.toContain('Quincewort');
    // Not even sealed: the same request gets an answer without it.
    expect(tin.store.requests.answered('r-l')).toMatchObject({
      outcome: 'answered',
      blocks: [{ kind: 'text' }],
    });
    const again = say('/note list', { requestId: 'r-l' });
    expect(wordsOf(again)).not.toContain('Quincewort');
    expect(again.title).toBe('That was answered when you first said it');
    // And nothing is done twice.
    say('/note add "the Quincewort order 10"', { requestId: 'r-10' });
    expect(listed(say('/note list')).total).toBe(11);
  });

  it('shows ten at a time, and older ones by the choice or by before:', () => {
    for (let n = 1; n <= 23; n += 1) say(`/note add "order ${n}"`);
    const first = say('/note list');
    expect(textsOf(first)).toEqual(Array.from({ length: 10 }, (_, at) => `order ${23 - at}`));
    const second = tin.say({ token: first.choices[0]?.token ?? '' }, direct);
    expect(textsOf(second)).toEqual(Array.from({ length: 10 }, (_, at) => `order ${13 - at}`));
    const third = tin.say({ token: second.choices[0]?.token ?? '' }, direct);
    expect(textsOf(third)).toEqual(['order 3', 'order 2', 'order 1']);
    expect(third.choices).toEqual([]);
    expect(textsOf(say('/note list before:3'))).toEqual(['order 2', 'order 1']);
  });

  it('finds notes by words, without case and accents, in any order', () => {
    say('/note add "Rückglas für Ines bestellt"');
    say('/note add "screws from Moss"');
    expect(textsOf(say('/note search "ines RUCKGLAS"'))).toEqual(['Rückglas für Ines bestellt']);
    expect(textsOf(say('/note search "screws rückglas"'))).toEqual([]);
  });

  it('edits text and job, and erases', () => {
    const number = openJob(tin.store, ines, tin.now);
    say('/note add "back glass ordered"');
    const edited = savedOf(
      say(`/note edit 1 text:"back glass came: wrong colour" job:#${number}`, { now: later(1) }),
    );
    expect(edited).toEqual({
      number: 1,
      job: number,
      at: tin.now.toISOString(),
      edited: later(1).toISOString(),
      text: 'back glass came: wrong colour',
      goes: null,
    });
    expect(savedOf(say('/note edit 1 text:sent back'))).toMatchObject({ job: number, text: 'sent back' });
    expect(textsOf(say(`/note list job:${number}`))).toEqual(['sent back']);
    expect(noteErasedData.parse(say('/note erase 1').data)).toEqual({ erased: 1 });
    expect(listed(say('/note list')).total).toBe(0);
    // A number is not given twice.
    expect(savedOf(say('/note add again')).number).toBe(2);
  });

  it('takes 2000 characters, and not one more', () => {
    expect(savedOf(say(`/note add "${'ä'.repeat(2000)}"`)).text).toHaveLength(2000);
    expect(say(`/note add "${'ä'.repeat(2001)}"`).outcome).toBe('refused');
  });
});

describe('a note on a job', () => {
  it('needs the job to be there', () => {
    const before = tin.dump();
    expect(refusalOf(say('/note add "back glass ordered" job:7'))).toMatchObject({
      code: 'not-found',
      option: 'job',
    });
    expect(tin.dump()).toEqual(before);
  });

  it('goes a set time after the job is closed: by the clock, or when notes are used', () => {
    const number = openJob(tin.store, ines, tin.now);
    const open = openJob(tin.store, ines, tin.now);
    say(`/note add "on the closed one" job:${number}`);
    say(`/note add "on the open one" job:${open}`);
    say('/note add "on none"');
    say(`/note add "hers" job:${number}`, { as: 'Wren' });
    closeJob(tin.store, number, tin.now);
    expect(listed(say(`/note list job:${number}`)).notes[0]?.goes).toBe('2026-05-31');

    expect(textsOf(say('/note list', { now: later(90) }))).toHaveLength(3);
    expect(eraseOldNotes(tin.database, later(90))).toBe(0);
    const kept = textsOf(say('/note list', { now: new Date(later(90).getTime() + 1) }));
    expect(kept).toEqual(['on none', 'on the open one']);
    // Only the asker's own go when notes are used; the clock takes everybody's.
    expect(tin.store.notes.count('terminal:Wren')).toBe(1);
    expect(eraseOldNotes(tin.database, later(91))).toBe(1);
    expect(tin.store.notes.count('terminal:Wren')).toBe(0);
    expect(say(`/note add "too late" job:${number}`, { now: later(91) }).title).toContain(
      'closed more than 90 days ago',
    );
  });

  it('goes after as many days as the collective has set', () => {
    const number = openJob(tin.store, ines, tin.now);
    say(`/note add "on the closed one" job:${number}`);
    closeJob(tin.store, number, tin.now);
    tin.say('/setup notes-kept:7', { role: 'steward' });
    expect(eraseOldNotes(tin.database, later(7))).toBe(0);
    expect(eraseOldNotes(tin.database, later(8))).toBe(1);
  });

  it('stays when the job is opened again', () => {
    const number = openJob(tin.store, ines, tin.now);
    say(`/note add "on it" job:${number}`);
    closeJob(tin.store, number, tin.now);
    tin.store.jobs.reopen(number);
    expect(eraseOldNotes(tin.database, later(400))).toBe(0);
  });
});

/** Words that stand nowhere else, so that a repeat is seen. */
const SECRET = 'Quincewort 8264';
const silent = (reply: Reply) => {
  expect(reply.outcome).toBe('refused');
  const words = wordsOf(reply).toLowerCase();
  for (const word of SECRET.toLowerCase().split(' ')) expect(words).not.toContain(word);
};

describe('refusals', () => {
  it('name what was seen, and never repeat it', () => {
    const before = tin.dump();
    for (const [line, kind] of [
      [`/note add "passcode ${SECRET}"`, 'a passcode or PIN'],
      ['/note add "password: Quincewort"', 'a password'],
      ['/note add "unlock pattern: Quincewort"', 'an unlock pattern'],
      ['/note add "4111 1111 1111 1111 Quincewort"', 'a card number'],
    ] as const) {
      const refused = say(line);
      silent(refused);
      expect(refused.title).toContain(kind);
      expect(wordsOf(refused)).not.toContain('4111');
    }
    expect(tin.dump()).toEqual(before);
    say('/note add "order placed"');
    silent(say(`/note edit 1 text:"PIN ${SECRET}"`));
  });

  const bad = [
    `/note add "${SECRET}" job:77`,
    `/note add "x" job:"${SECRET}"`,
    `/note add ${SECRET} quincewort: 1`,
    `/note add "x" quincewort:8264`,
    `/note add "${SECRET}" text:"${SECRET}"`,
    `/note add job:1 ${SECRET}`,
    `/note ${SECRET}`,
    `/note quincewort:8264`,
    `/note edit ${SECRET}`,
    `/note edit 1 ${SECRET}`,
    `/note edit 9 text:"${SECRET}"`,
    `/note erase ${SECRET}`,
    `/note list before:"${SECRET}"`,
    `/note add "${SECRET}\u0007"`,
    `/mydata ${SECRET}`,
    `/mydata erase sure:"${SECRET}"`,
    `/mydata export quincewort:8264`,
  ];
  it.each(bad)('in a direct message: %s', (line) => {
    const before = tin.dump();
    silent(say(line));
    expect(tin.dump()).toEqual(before);
  });

  it.each([
    ...bad,
    `/note add "${SECRET}"`,
    `/note ${'x'.repeat(4100)} ${SECRET}`,
    `/note:${SECRET}`,
    `/note${SECRET}`,
    `/note"${SECRET}`,
    `/Note add ${SECRET}`,
    `/NOTE ${SECRET}`,
    `/notes add ${SECRET}`,
    `/noet add ${SECRET}`,
    `/nte add ${SECRET}`,
    `/note add "${SECRET}`,
    `/ note add ${SECRET}`,
    `note add ${SECRET}`,
    `/quux add ${SECRET}`,
    `/mydta erase ${SECRET}`,
  ])('in a shared room: %s', (line) => {
    const before = tin.dump();
    silent(tin.say(line));
    expect(tin.dump()).toEqual(before);
  });

  it('in a shared room say where it works', () => {
    expect(tin.say('/note add "order placed"').title).toBe(
      '/note works in a direct message only, so that nobody else reads it.',
    );
    expect(tin.say('/noet add "order placed"').title).toContain('/note, if you meant that');
  });

  it('in a shared room, of an invocation and of a choice too', () => {
    const invoke = (action: string, options: Record<string, string>) => ({
      invoke: { command: 'note', action, options },
    });
    silent(tin.say(invoke('add', { text: SECRET })));
    silent(tin.say(invoke('add', { text: SECRET, quincewort: '8264' })));
    silent(tin.say(invoke('quincewort', { text: SECRET })));
    for (let n = 0; n < 11; n += 1) say(`/note add "order ${n} of Quincewort"`);
    silent(tin.say({ token: say('/note list').choices[0]?.token ?? '' }));
  });
});

describe('a fault', () => {
  it('is logged without what was said, and with the place where it happened', () => {
    const execute: Action['execute'] = ({ text }) => {
      throw new TypeError(`cannot read ${text}`, { cause: text });
    };
    const { add } = note.actions;
    if (!add) throw new Error('there is no /note add');
    const broken = testBot({ commands: [{ ...note, actions: { add: { ...add, execute } }, main: 'add' }] });
    const fault = broken.say(`/note add "${SECRET}"`, direct);
    expect(fault.outcome).toBe('fault');
    expect(wordsOf(fault)).not.toContain('Quincewort');
    const [logged] = broken.faults;
    const error = logged?.error;
    if (!(error instanceof Error)) throw new Error('nothing was logged');
    expect(`${error.message} ${error.stack} ${JSON.stringify(error)} ${String(error.cause)}`).not.toContain(
      'Quincewort',
    );
    expect(error.stack).toMatch(/^TypeError: .*\n\s+at .*note\.test\.ts/);
  });
});
