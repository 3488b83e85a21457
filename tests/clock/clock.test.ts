import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import { type Database, openDatabase, type Store } from '../../shared/store/index.ts';
import { type ClockStep, postKey } from '../../src/clock/post-once.ts';
import { type Clock, createClock } from '../../src/clock/scheduler.ts';
import type { Poster } from '../../src/surfaces/weekly-poster.ts';
import { actor } from '../actors.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';
import { finishJob } from './finished.ts';

/** A room that shows a message as often as it is posted, as a chat without keys would. */
class Room implements Poster {
  messages: { key: string; reply: Reply; edits: number }[] = [];
  looked = 0;
  /** Thrown once: before the post is there, or after. */
  fails: { before?: Error; after?: Error; find?: Error; edit?: Error } = {};
  private fail(when: keyof Room['fails']): void {
    const error = this.fails[when];
    delete this.fails[when];
    if (error) throw error;
  }
  async post(key: string, reply: Reply): Promise<string> {
    this.fail('before');
    this.messages.push({ key, reply, edits: 0 });
    this.fail('after');
    return String(this.messages.length - 1);
  }
  async find(key: string): Promise<string | null> {
    this.looked += 1;
    this.fail('find');
    const index = this.messages.findIndex((one) => one.key === key);
    return index < 0 ? null : String(index);
  }
  async edit(message: string, reply: Reply): Promise<void> {
    this.fail('edit');
    const found = this.messages[Number(message)];
    if (!found) throw new Error(`no message ${message}`);
    found.reply = reply;
    found.edits += 1;
  }
}

let database: Database;
let collective: Collective;
let store: Store;
let room: Room;
let faults: unknown[];
let clock: Clock;
let at: ((step: ClockStep) => void) | undefined;

const newClock = (rooms: Record<string, Poster> = { 'room 1': room }): Clock =>
  createClock({
    database,
    knowledge: knowledge(),
    placesOf: ({ id }) =>
      id === collective.id ? Object.entries(rooms).map(([place, poster]) => ({ place, poster })) : [],
    log: (_, error) => faults.push(error),
    at: (step) => at?.(step),
  });

beforeEach(() => {
  database = openDatabase(':memory:', testSealer);
  collective = database.collectives.create('Tin Shed', {
    currency: 'AUD',
    region: 'AU',
    zone: 'Australia/Sydney',
  });
  store = database.of(collective);
  room = new Room();
  faults = [];
  at = undefined;
  clock = newClock();
  // A Wednesday of week 9.
  finishJob(store, { endedAt: '2026-02-25T01:00:00Z' });
});
afterEach(() => database.close());

/** Monday 2 March 2026, 09:00 in Sydney: week 9 is due. */
const DUE = '2026-03-01T22:00:00Z';
const tick = (time: string) => clock.tick(new Date(time));
const later = (minutes: number, from = DUE) => new Date(Date.parse(from) + minutes * 60_000).toISOString();
const keys = () => room.messages.map(({ key }) => key);
const settings = (change: Partial<Collective['settings']>) => {
  store.saveSettings({ ...collective.settings, ...change });
  const found = database.collectives.find(collective.id);
  if (!found) throw new Error('no collective');
  collective = found;
  store = database.of(collective);
};

describe('the weekly post', () => {
  it('goes out at its hour, not before, and once', async () => {
    await tick('2026-03-01T21:59:00Z');
    expect(keys()).toEqual([]);
    await tick(DUE);
    for (let minute = 1; minute < 90; minute += 1) await tick(later(minute));
    expect(keys()).toEqual([postKey(collective, '2026-W09')]);
    expect(room.messages[0]?.reply.title).toBe('Week 2026-W09: 1 phone back in use');
    expect(room.messages[0]?.reply.files[0]?.draw?.kind).toBe('week-chart');
    expect(store.weeks.get('2026-W09', 'room 1')).toMatchObject({ state: 'sent', message: '0', tries: 0 });
    expect(faults).toEqual([]);
    expect(room.looked).toBe(0);
  });
  it('is not repeated after a restart, nor when the clock is set back', async () => {
    await tick(DUE);
    clock = newClock();
    await tick(later(1));
    await tick('2026-02-26T00:00:00Z');
    await tick('2025-06-26T00:00:00Z');
    await tick(later(2));
    expect(keys()).toHaveLength(1);
    expect(faults).toEqual([expect.stringMatching(/^the time went from 2025-06-26T00:00:00.000Z to 2026-/)]);
  });
  it('after a stop of any length is one, about the last full week', async () => {
    await tick(DUE);
    finishJob(store, { endedAt: '2026-03-04T01:00:00Z' });
    finishJob(store, { endedAt: '2026-05-05T01:00:00Z' });
    await tick('2026-05-14T05:00:00Z');
    await tick('2026-05-14T05:01:00Z');
    expect(keys()).toEqual([postKey(collective, '2026-W09'), postKey(collective, '2026-W19')]);
  });
  it('says in one line that a week was empty, but does not greet a new place with that', async () => {
    const empty = '2026-03-08T22:00:00Z';
    room = new Room();
    clock = newClock();
    await clock.tick(new Date(empty));
    expect(room.messages).toEqual([]);
    clock = newClock();
    await tick(DUE);
    await tick(empty);
    expect(room.messages.map(({ reply }) => [reply.title, reply.blocks.length, reply.files.length])).toEqual([
      ['Week 2026-W09: 1 phone back in use', expect.any(Number), 1],
      ['No phone was restored in week 2026-W10 (2 – 8 March 2026).', 0, 0],
    ]);
  });
  it('goes to every place of a collective, each for itself', async () => {
    const other = new Room();
    room.fails.before = new Error('offline');
    clock = newClock({ 'room 1': room, 'room 2': other });
    await tick(DUE);
    expect([room.messages.length, other.messages.length]).toEqual([0, 1]);
    await tick(later(1));
    expect([room.messages.length, other.messages.length]).toEqual([1, 1]);
    expect(faults).toEqual([new Error('offline')]);
  });
  it('keeps to the collective', async () => {
    const others = database.collectives.create('Other Shed', {});
    finishJob(database.of(others), { endedAt: '2026-02-25T01:00:00Z', by: 'Bram' });
    await tick(DUE);
    expect(keys()).toEqual([postKey(collective, '2026-W09')]);
    expect(JSON.stringify(room.messages)).not.toContain('Bram');
    expect(database.of(others).weeks.ofWeek('2026-W09')).toEqual([]);
  });
  it('goes by the collective’s day and hour, and stays away where it is off', async () => {
    settings({ weekDay: 5, weekHour: 18 });
    await tick(DUE);
    expect(keys()).toEqual([]);
    settings({ weekOn: false });
    await tick('2026-03-06T07:00:00Z');
    expect(keys()).toEqual([]);
    settings({ weekOn: true });
    await tick('2026-03-06T06:59:00Z');
    expect(keys()).toEqual([]);
    await tick('2026-03-06T07:00:00Z');
    expect(keys()).toEqual([postKey(collective, '2026-W09')]);
  });
  // IANA tz database (2025b): Sydney has 02:00 twice on 2026-04-05 (at 15:00Z and 16:00Z) and not at all on 2026-10-04.
  it.each([
    ['is there twice', '2026-04-04T14:00:00Z', '2026-04-04T15:00:00.000Z', '2026-03-25T01:00:00Z'],
    ['is not there', '2026-10-03T14:00:00Z', '2026-10-03T16:00:00.000Z', '2026-09-23T01:00:00Z'],
  ])('is sent once where its hour %s', async (_, from, expected, ended) => {
    settings({ weekDay: 7, weekHour: 2 });
    finishJob(store, { endedAt: ended });
    // The post of the Sunday before is sent first.
    await tick(new Date(Date.parse(from) - 86_400_000).toISOString());
    const before = keys().length;
    const sent: string[] = [];
    for (let minute = 0; minute < 240; minute += 10) {
      const now = later(minute, from);
      await tick(now);
      if (keys().length > before + sent.length) sent.push(now);
    }
    expect(sent).toEqual([expected]);
  });
});

describe('a try that fails', () => {
  it('before the post was there is repeated after a look, later and later', async () => {
    const tried: number[] = [];
    let minute = 0;
    room.post = () => {
      tried.push(minute);
      return Promise.reject(new Error('offline'));
    };
    for (; minute < 300; minute += 1) await tick(later(minute));
    expect(tried).toEqual([0, 1, 3, 7, 15, 31, 63, 127, 255]);
    expect(room.looked).toBe(tried.length - 1);
    expect(store.weeks.get('2026-W09', 'room 1')).toMatchObject({
      state: 'sending',
      message: null,
      tries: 9,
    });
  });
  it('after the post was there is found, and not said again', async () => {
    room.fails.after = new Error('timed out');
    await tick(DUE);
    expect(store.weeks.get('2026-W09', 'room 1')?.state).toBe('sending');
    await tick(later(1));
    expect(keys()).toHaveLength(1);
    expect(store.weeks.get('2026-W09', 'room 1')).toMatchObject({ state: 'sent', message: '0', tries: 0 });
  });
  it('in the look is a failure too: nothing is sent blindly', async () => {
    room.fails = { after: new Error('timed out'), find: new Error('no history') };
    await tick(DUE);
    await tick(later(1));
    expect(keys()).toHaveLength(1);
    expect(store.weeks.get('2026-W09', 'room 1')?.state).toBe('sending');
    await tick(later(3));
    expect(keys()).toHaveLength(1);
    expect(store.weeks.get('2026-W09', 'room 1')?.state).toBe('sent');
    expect(faults).toHaveLength(2);
  });
  it('sends what the first try did, and puts it right after that', async () => {
    room.fails.before = new Error('offline');
    await tick(DUE);
    finishJob(store, { endedAt: '2026-02-26T01:00:00Z' });
    const { post } = room;
    const titles: string[] = [];
    room.post = (key, reply) => {
      titles.push(reply.title);
      return post.call(room, key, reply);
    };
    await tick(later(1));
    expect(titles).toEqual(['Week 2026-W09: 1 phone back in use']);
    expect(room.messages[0]).toMatchObject({
      edits: 1,
      reply: { title: 'Week 2026-W09: 2 phones back in use' },
    });
  });
  it('and was overtaken by a newer week is looked for, and sent no more', async () => {
    room.fails.after = new Error('timed out');
    await tick(DUE);
    await tick('2026-03-22T22:00:00Z');
    expect(keys()).toEqual([postKey(collective, '2026-W09'), postKey(collective, '2026-W12')]);
    expect(store.weeks.get('2026-W09', 'room 1')?.state).toBe('sent');
  });
  it('and never arrived, once overtaken, is forgotten', async () => {
    room.fails.before = new Error('offline');
    await tick(DUE);
    await tick('2026-03-22T22:00:00Z');
    expect(keys()).toEqual([postKey(collective, '2026-W12')]);
    expect(store.weeks.get('2026-W09', 'room 1')).toBeNull();
  });
  it('is not held up by a clock that was set back', async () => {
    room.fails.before = new Error('offline');
    await tick(later(120));
    await tick(later(60));
    expect(keys()).toHaveLength(1);
  });
});

describe('a post that is no longer right', () => {
  beforeEach(() => tick(DUE));
  const edits = () => room.messages.map((one) => one.edits);
  it('is edited when a job is found to have ended in that week', async () => {
    finishJob(store, { endedAt: '2026-02-27T01:00:00Z' });
    await tick(later(5));
    await tick(later(6));
    expect(edits()).toEqual([1]);
    expect(room.messages[0]?.reply.title).toBe('Week 2026-W09: 2 phones back in use');
    expect(store.weeks.get('2026-W09', 'room 1')).toMatchObject({ state: 'sent', message: '0', tries: 0 });
  });
  it('is edited when an entry is struck out, and when a job is reopened', async () => {
    store.jobs.strike(1, 2, { by: actor('Ines'), at: new Date(DUE) }, 'not fitted');
    await tick(later(1));
    expect(room.messages[0]?.reply.data).toMatchObject({ reusedParts: 0 });
    store.jobs.reopen(1);
    await tick(later(2));
    expect(room.messages[0]?.reply.title).toBe(
      'No phone was restored in week 2026-W09 (23 February – 1 March 2026).',
    );
    expect(edits()).toEqual([2]);
  });
  it('stays as it is when nothing in it changed, after a restart and with other settings too', async () => {
    store.jobs.add(1, [{ kind: 'said', text: 'a word' }], {
      by: actor('Ines'),
      at: new Date(DUE),
    });
    settings({ hourlyRate: 99 });
    clock = newClock();
    await tick(later(1));
    expect(edits()).toEqual([0]);
  });
  it('is edited later when the edit fails, later and later', async () => {
    finishJob(store, { endedAt: '2026-02-27T01:00:00Z' });
    room.fails.edit = new Error('offline');
    await tick(later(1));
    expect(edits()).toEqual([0]);
    await tick(later(1));
    expect(edits()).toEqual([0]);
    await tick(later(2));
    expect(edits()).toEqual([1]);
    expect(faults).toEqual([new Error('offline')]);
  });
  it('is left alone when it is older than eight weeks, or the post is off', async () => {
    settings({ weekOn: false });
    finishJob(store, { endedAt: '2026-02-27T01:00:00Z' });
    await tick(later(1));
    expect(edits()).toEqual([0]);
    settings({ weekOn: true });
    // Week 17 is the ninth from week 9, week 16 the eighth.
    await tick('2026-04-27T00:00:00Z');
    expect(edits()).toEqual([0, 0]);
    await tick('2026-04-20T00:00:00Z');
    expect(edits()).toEqual([1, 0]);
  });
});

describe('a post that a steward asked for', () => {
  it('goes out at the next tick, also where the post is off, and once', async () => {
    settings({ weekOn: false });
    store.weeks.ask('2026-W09', new Date('2026-03-01T20:00:00Z'));
    await tick('2026-03-01T20:01:00Z');
    await tick(later(1));
    settings({ weekOn: true });
    await tick(later(2));
    expect(keys()).toEqual([postKey(collective, '2026-W09')]);
    expect(store.weeks.asked()).toEqual([]);
  });
  it('may be about an older week, or an empty one', async () => {
    await tick(DUE);
    store.weeks.ask('2026-W07', new Date(DUE));
    await tick(later(1));
    expect(keys()).toEqual([postKey(collective, '2026-W09'), postKey(collective, '2026-W07')]);
  });
  it('waits for a place, and lapses after seven days', async () => {
    clock = newClock({});
    store.weeks.ask('2026-W07', new Date(DUE));
    await tick(later(60));
    expect(store.weeks.asked()).toHaveLength(1);
    await tick(later(8 * 24 * 60));
    expect(store.weeks.asked()).toEqual([]);
  });
});

describe('a thrown error at each moment', () => {
  const steps: ClockStep[] = [
    'intent-unsaved',
    'intent-saved',
    'looked',
    'posted',
    'sent-unsaved',
    'sent-saved',
  ];
  it.each(steps)('%s: one post in the end', async (step) => {
    let thrown = 0;
    at = (reached) => {
      if (reached === step && thrown === 0) {
        thrown += 1;
        throw new Error(`ended at ${step}`);
      }
    };
    await tick(DUE);
    expect(thrown).toBe(1);
    for (let minute = 1; minute < 10; minute += 1) await tick(later(minute));
    expect(keys()).toEqual([postKey(collective, '2026-W09')]);
    expect(store.weeks.get('2026-W09', 'room 1')).toMatchObject({ state: 'sent', message: '0' });
  });
});

describe('the ticking', () => {
  it('does one thing at a time', async () => {
    let posting = 0;
    const { post } = room;
    room.post = async (key, reply) => {
      posting += 1;
      await new Promise((resolve) => setTimeout(resolve, 20));
      return post.call(room, key, reply);
    };
    await Promise.all([tick(DUE), tick(later(1)), tick(later(2))]);
    expect(posting).toBe(1);
    expect(keys()).toHaveLength(1);
  });
  it('begins at once, and ends when it is stopped, after what it was doing', async () => {
    clock.start(() => new Date(DUE));
    await clock.stop();
    expect(keys()).toHaveLength(1);
  });
  it('erases what is old once a day', async () => {
    const old = finishJob(store, { endedAt: '2024-01-10T01:00:00Z' });
    store.notes.add(
      'terminal:Ines',
      { text: 'a private matter', job: old },
      new Date('2024-01-10T02:00:00Z'),
    );
    expect(store.notes.count('terminal:Ines')).toBe(1);
    await tick(DUE);
    expect(store.notes.count('terminal:Ines')).toBe(0);
  });
  it('erases nothing for a week after the clock leapt, and says so once', async () => {
    const job = finishJob(store, { endedAt: '2026-02-25T01:00:00Z' });
    store.notes.add('terminal:Ines', { text: 'a private matter', job }, new Date('2026-02-25T02:00:00Z'));
    const notes = () => store.notes.count('terminal:Ines');
    await tick(DUE);
    // Ten years ahead, as after a slip of the hand; and set right again.
    await tick('2036-03-02T00:00:00Z');
    await tick('2036-03-04T00:00:00Z');
    expect(notes()).toBe(1);
    expect(faults).toEqual([expect.stringContaining('no note, and nothing else, is erased for 7 days')]);
    await tick(later(60 * 24));
    expect(notes()).toBe(1);
    // A bot that stood still for half a year: the note goes a week late.
    await tick('2026-09-01T00:00:00Z');
    expect(notes()).toBe(1);
    await tick('2026-09-09T00:00:00Z');
    expect(notes()).toBe(0);
    expect(faults).toHaveLength(2);
  });
  it('sends a week that was asked for also where another program posts, whichever ticks first', async () => {
    const chat = new Room();
    database.channelBindings.bind(
      { platform: 'discord', id: '1', collective: collective.id, kind: 'room' },
      new Date(DUE),
    );
    database.channelBindings.setWeekly('discord', '1', true);
    store.weeks.ask('2026-W07', new Date(DUE));
    await tick(DUE);
    expect(keys()).toContain(postKey(collective, '2026-W07'));
    await newClock({ 'discord:1': chat }).tick(new Date(later(1)));
    expect(chat.messages.map(({ key }) => key)).toContain(postKey(collective, '2026-W07'));
    await tick(later(2));
    expect(store.weeks.asked()).toEqual([]);
    expect(faults).toEqual([]);
  });
});
