/** A job's thread or forum post with its one card: made once, edited as the job moves, and told of once where it cannot be kept. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { notNull, type Stage, stage, titleOf, until, wordsOn } from './bot.ts';
import { type Channel, type Message, rights } from './loopback/world.ts';

let on: Stage;
let jobs: Channel;
let forum: Channel;
beforeEach(async () => {
  on = await stage({
    before: ({ world }) => {
      const [server] = [...world.servers.values()];
      jobs = world.addChannel(notNull(server), 'jobs');
      forum = world.addForum(notNull(server), 'job-posts');
    },
  });
  await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
});

const choose = (channel: Channel) => on.ines.use('server', 'jobs', { channel: channel.id });
const open = (who = on.moss) =>
  who.use('job', 'open', { model: 'Orrin K3', symptoms: 'dead', came: 'given' });
const answer = (question: string, value: string) =>
  on.moss.use('job', 'answer', { [question]: value, job: 1 });
const cardsIn = (channel: Channel): Message[] =>
  [...on.loopback.world.messages.values()].filter(
    ({ channel: where, askedBy }) =>
      askedBy === null &&
      (where === channel.id || on.loopback.world.channels.get(where)?.thread?.parent === channel.id),
  );
const threadsIn = (channel: Channel) =>
  [...on.loopback.world.channels.values()].filter(({ thread }) => thread?.parent === channel.id);
const bench = () => on.database.of(notNull(on.database.collectives.list()[0]));
const isRight = () => bench().jobPosts.due('discord').length === 0;
const right = () => until(isRight, 'all cards are right');
const tagsOn = (thread: Channel): string[] =>
  notNull(thread.thread).tags.map(
    (id) => notNull(notNull(forum.forum).tags.find((tag) => tag.id === id)).name,
  );
const patches = () => on.loopback.requests('PATCH', /^\/channels\/\d+\/messages\/\d+$/);
const toldTo = (user: Stage['people']['ines']): string[] =>
  on.loopback.world.seenIn(on.loopback.world.directOf(user).id).map(wordsOn);

describe('threads of jobs', () => {
  it('are off until a steward chooses a channel, and then are for jobs that move', async () => {
    await open();
    const seen = await choose(jobs);
    expect(titleOf(seen.message)).toBe('✓ Each job gets a thread there when it moves');
    expect(wordsOn(seen.message)).toContain('\\#jobs');
    await right();
    expect(cardsIn(jobs)).toEqual([]);
    await answer('ownership', 'shown');
    await right();
    expect(cardsIn(jobs)).toHaveLength(1);
    await on.ines.use('server', 'jobs', { off: 'yes' });
    await open();
    await answer('lock', 'free');
    expect(bench().jobPosts.channelOf('discord')).toBeNull();
    expect(cardsIn(jobs)).toHaveLength(1);
  });

  it('have one card, which says what it is about in its first line, and is edited as the job moves', async () => {
    await choose(jobs);
    await open();
    await right();
    const [card] = cardsIn(jobs);
    const [thread] = threadsIn(jobs);
    expect(thread).toMatchObject({ id: notNull(card).id, name: 'Job 1, Orrin K3' });
    expect(notNull(card).content.split('\n')[0]).toBe('Job 1, Orrin K3: at intake');
    expect(on.moss.labels(notNull(card))).toEqual(['Ownership is shown', 'It is not shown']);
    await on.wren.press(notNull(card), 'Ownership is shown');
    await answer('lock', 'free');
    await answer('stolen', 'clear');
    await right();
    expect(notNull(card).content).toContain('on the bench');
    await on.wren.use('job', 'wait', { for: 'part', until: '2026-03-09', note: 'Anouk brings it', job: 1 });
    await right();
    expect(notNull(card).content).toContain('waits for a part until 2026-03-09');
    expect(wordsOn(notNull(card))).toContain('as Wren said');
    // What people wrote is not on it.
    expect(wordsOn(notNull(card))).not.toContain('Anouk');
    expect(cardsIn(jobs)).toHaveLength(1);
    expect(threadsIn(jobs)).toHaveLength(1);
  });

  it('show the path of the trace with who answered', async () => {
    await choose(jobs);
    await open();
    await answer('ownership', 'shown');
    await answer('lock', 'free');
    await answer('stolen', 'clear');
    const trace = notNull((await on.moss.use('trace', 'start', { job: 1 })).message);
    const [first = ''] = on.wren.labels(trace);
    if (first.startsWith('Go on anyway')) await on.wren.press(trace, first);
    await on.wren.press(trace, notNull(on.wren.labels(trace)[0]));
    await right();
    const [card] = cardsIn(jobs);
    expect(wordsOn(notNull(card))).toMatch(/So far[\s\S]*\(Wren\)/);
    expect(on.moss.labels(notNull(card))).toContain('Go on with trace 1');
  });

  it('in a forum are posts with a tag for the state, and are put away when the job is closed', async () => {
    on.server.roles[0] = {
      ...notNull(on.server.roles[0]),
      permissions: notNull(on.server.roles[0]).permissions | rights.manageChannels,
    };
    await choose(forum);
    await open();
    await right();
    const [post] = threadsIn(forum);
    const [card] = cardsIn(forum);
    expect(post).toMatchObject({ id: notNull(card).id, name: 'Job 1, Orrin K3' });
    expect(tagsOn(notNull(post))).toEqual(['at intake']);
    for (const [question, value] of [
      ['ownership', 'shown'],
      ['lock', 'free'],
      ['stolen', 'clear'],
    ] as const)
      await answer(question, value);
    await right();
    expect(tagsOn(notNull(post))).toEqual(['on the bench']);
    await on.moss.use('job', 'finish', { as: 'passed', job: 1 });
    await right();
    expect(tagsOn(notNull(post))).toEqual(['closed']);
    expect(notNull(post).thread?.archived).toBe(true);
    expect(notNull(card).content).toContain('passed on');
    await on.moss.use('job', 'reopen', { why: 'too soon', job: 1 });
    await right();
    expect(notNull(post).thread?.archived).toBe(false);
    expect(notNull(card).content).toContain('on the bench');
    expect(threadsIn(forum)).toHaveLength(1);
  });

  it('do without tags where the bot may make none, and take those that people have made', async () => {
    notNull(forum.forum).tags = [{ id: '1234567890123456789', name: 'At intake', moderated: false }];
    await choose(forum);
    await open();
    await right();
    expect(tagsOn(notNull(threadsIn(forum)[0]))).toEqual(['At intake']);
    await answer('ownership', 'not-shown');
    await right();
    expect(notNull(cardsIn(forum)[0]).content).toContain('held');
    expect(on.faults).toEqual([]);
  });

  it('are opened again where Discord has put them away', async () => {
    await choose(forum);
    await open();
    await right();
    const [post] = threadsIn(forum);
    notNull(notNull(post).thread).archived = true;
    await answer('ownership', 'shown');
    await right();
    expect(notNull(post).thread?.archived).toBe(false);
    expect(on.moss.labels(notNull(cardsIn(forum)[0]))).toEqual(['It is free', 'It is locked']);
  });
});

describe('a card that cannot be kept', () => {
  it('is told of once, in plain words, where its thread is locked; the job goes on', async () => {
    await choose(forum);
    await open();
    await right();
    const thread = notNull(notNull(threadsIn(forum)[0]).thread);
    thread.archived = true;
    thread.locked = true;
    for (const [question, value] of [
      ['ownership', 'shown'],
      ['lock', 'free'],
      ['stolen', 'clear'],
    ] as const)
      expect((await answer(question, value)).message).not.toBeNull();
    await right();
    await until(() => toldTo(on.people.ines).length > 0, 'it is told');
    expect(toldTo(on.people.ines)).toEqual([
      'The thread of Job 1, Orrin K3 is closed or locked, and I may not open it. The job goes on without it; /server jobs makes one anew.',
    ]);
    expect(bench().jobs.get(1)?.entries).toHaveLength(3);
    // Chosen again, it is made anew when the job moves.
    await choose(forum);
    await on.moss.use('job', 'log', { minutes: 5, job: 1 });
    await right();
    expect(threadsIn(forum)).toHaveLength(2);
  });

  it('because it was deleted is told of once, by its job', async () => {
    await choose(jobs);
    await open();
    await right();
    on.loopback.world.messages.delete(notNull(cardsIn(jobs)[0]).id);
    await answer('ownership', 'shown');
    await answer('lock', 'free');
    await right();
    await until(() => toldTo(on.people.ines).length > 0, 'it is told');
    expect(toldTo(on.people.ines)).toEqual([
      'The card of Job 1, Orrin K3 is gone. The job goes on without it; /server jobs makes it anew.',
    ]);
  });

  it('for want of rights is told of once, with what to change; at the choice already', async () => {
    jobs.denied = rights.threads;
    await on.restart();
    expect(wordsOn((await choose(jobs)).message)).toContain('missing the right Create Public Threads');
    await open();
    await open();
    await right();
    await until(() => toldTo(on.people.ines).length > 0, 'it is told');
    expect(toldTo(on.people.ines)).toHaveLength(1);
    expect(toldTo(on.people.ines)[0]).toContain('Create Public Threads');
  });
});

describe('the making and the edits of a card', () => {
  it.each(['cut before', 'cut after'] as const)('happen once when the socket is %s', async (how) => {
    await choose(jobs);
    const path = new RegExp(`^/channels/${jobs.id}/messages$`);
    on.loopback.faults.push({ method: 'POST', path, do: how });
    on.loopback.faults.push({ method: 'POST', path: /\/threads$/, do: how });
    await open();
    await right();
    expect(cardsIn(jobs)).toHaveLength(1);
    expect(threadsIn(jobs)).toHaveLength(1);
    on.loopback.faults.push({ method: 'PATCH', path: /^\/channels\/\d+\/messages\/\d+$/, do: how });
    await answer('ownership', 'shown');
    await right();
    expect(on.moss.labels(notNull(cardsIn(jobs)[0]))).toEqual(['It is free', 'It is locked']);
    expect(on.faults).toEqual([]);
  });

  it.each(['text', 'forum'] as const)(
    'go on after a kill in the middle, in a %s channel: nothing lost, nothing twice',
    async (kind) => {
      const channel = kind === 'text' ? jobs : forum;
      await choose(channel);
      // Discord does it, and its answer never comes: so the bot is gone before it knows.
      const path = kind === 'text' ? new RegExp(`^/channels/${jobs.id}/messages$`) : /\/threads$/;
      on.loopback.faults.push({ method: 'POST', path, do: 'cut after', times: 1 });
      on.loopback.faults.push({
        method: 'GET',
        path: /^\/(channels\/\d+\/messages|guilds\/\d+\/threads\/active)$/,
        do: 'cut before',
        times: 40,
      });
      await open();
      await until(() => on.faults.length > 0, 'it has given up for now');
      expect(bench().jobPosts.due('discord')[0]?.post?.state).toBe('making');
      // Discord remembers a nonce for some minutes alone.
      for (const card of cardsIn(channel)) card.nonce = null;
      on.loopback.faults.length = 0;
      await on.restart();
      await right();
      expect(cardsIn(channel)).toHaveLength(1);
      expect(threadsIn(channel)).toHaveLength(1);
      // The same in the middle of an edit.
      on.loopback.faults.push({
        method: 'PATCH',
        path: /^\/channels\/\d+\/messages\/\d+$/,
        do: 'cut before',
        times: 40,
      });
      await answer('ownership', 'shown');
      await until(() => on.faults.length > 1, 'it has given up for now');
      on.loopback.faults.length = 0;
      await on.restart();
      await right();
      expect(on.moss.labels(notNull(cardsIn(channel)[0]))).toEqual(['It is free', 'It is locked']);
      const done = patches().length;
      await on.restart();
      await right();
      expect(patches()).toHaveLength(done);
      expect(cardsIn(channel)).toHaveLength(1);
    },
  );

  it('come together where there is much at once: of a card one edit is under way, and one comes after it', async () => {
    await choose(jobs);
    await open();
    await right();
    const card = notNull(cardsIn(jobs)[0]);
    const mine = new RegExp(`^PATCH /channels/${jobs.id}/messages/${card.id}$`);
    const edits = () => on.loopback.arrived.filter((one) => mine.test(one)).length;
    const release = on.loopback.holdAnswers(mine);
    for (let index = 0; index < 10; index += 1)
      await on.moss.use('job', 'log', { minutes: index + 1, job: 1 });
    await until(() => edits() > 0, 'an edit is under way');
    expect(edits()).toBe(1);
    release();
    await right();
    expect(bench().jobs.get(1)?.entries).toHaveLength(10);
    expect(edits()).toBe(2);
    expect(notNull(on.loopback.world.messages.get(card.id)).edited).toBe(2);
  });
});
