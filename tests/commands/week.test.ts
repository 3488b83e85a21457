import { beforeEach, describe, expect, it } from 'vitest';
import { setup } from '../../commands/setup/index.ts';
import { week } from '../../commands/week/index.ts';
import { weekPostData } from '../../commands/week/post.ts';
import { weekData } from '../../commands/week/week-data.ts';
import { weekChartData } from '../../commands/week/week-picture.ts';
import { weekSwitchData } from '../../commands/week/weekly-switch.ts';
import { actor } from '../actors.ts';
import { finishJob } from '../clock/finished.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

let tin: TestBot;
beforeEach(() => {
  tin = testBot({ commands: [week, setup] });
});
const steward = { role: 'steward' } as const;
/** Monday 2 March 2026, 20:00 in Sydney: week 9 is over. */
const filled = () => {
  finishJob(tin.store, { endedAt: '2026-02-24T01:00:00Z', paid: 24, sold: 148, minutes: 75, by: 'Ines' });
  finishJob(tin.store, {
    endedAt: '2026-02-26T01:00:00Z',
    paid: 60,
    sold: null,
    kept: true,
    minutes: 45,
    by: 'Wren',
    fault: 'port-worn',
    chance: 0.04,
  });
  finishJob(tin.store, {
    endedAt: '2026-02-26T02:00:00Z',
    as: 'stripped',
    sold: 30,
    parts: ['speaker', 'rear-camera'],
  });
  finishJob(tin.store, { endedAt: '2026-02-26T03:00:00Z', as: 'passed', sold: null });
  // The last minute of the week in Sydney, and the first of the next.
  finishJob(tin.store, { endedAt: '2026-03-01T12:59:59Z', by: 'Moss' });
  finishJob(tin.store, { endedAt: '2026-03-01T13:00:00Z', by: 'Bram' });
};

describe('/week preview', () => {
  it('tells of the restored phones of the week, and of the rest in one line', () => {
    filled();
    const reply = tin.say('/week preview 2026-W09');
    const data = weekData.parse(reply.data);
    expect(reply.title).toBe('Week 2026-W09: 3 phones back in use');
    expect(data.restored.map(({ job, by }) => [job, by])).toEqual([
      [1, 'Ines'],
      [2, 'Wren'],
      [5, 'Moss'],
    ]);
    expect(data).toMatchObject({
      from: '2026-02-23',
      until: '2026-03-01',
      others: { stripped: 1, partsKept: 2, passed: 1, handedBack: 0 },
      minutes: 155,
      out: { amount: '104.00', currency: 'AUD' },
      back: { amount: '286.00', currency: 'AUD' },
      // What the kept one is worth is not known: its 60 are no loss.
      net: { amount: '242.00', currency: 'AUD' },
      // Two were let go: 148 - 24 + 138 - 20 = 242, less 110 minutes at AUD 60 an hour; AUD 40 each were expected.
      estimate: {
        phones: 2,
        expected: { amount: '80.00', currency: 'AUD' },
        came: { amount: '132.00', currency: 'AUD' },
        minutes: 110,
      },
      reusedParts: 3,
      learnt: { kind: 'fault', job: 2, chance: 0.04 },
    });
    expect(wordsOf(reply)).toContain('Also finished: 1 stripped (2 parts kept) and 1 passed on.');
  });
  it('leads with the bench and each phone’s line; counts, mass and gas come behind', () => {
    tin = testBot();
    filled();
    const say = (line: string) => {
      const said = tin.say(line, steward);
      expect(said.outcome, said.title).toBe('answered');
    };
    say('/family name "Orrin K3" as:glued-front-home-sensor new-price:400');
    say('/job open "Orrin K3" came:given ownership:shown lock:free stolen:clear');
    say('/job wait part until:2026-03-20 note:"Moss has the money"');
    say('/shelf least battery of:"Orrin K3" least:2');
    const reply = tin.say('/week preview 2026-W09');
    const front = reply.blocks.filter((block) => !('back' in block && block.back));
    const [bench, shelf, phones, ...rest] = front;
    expect(bench).toMatchObject({ kind: 'steps', heading: 'On the bench' });
    expect(JSON.stringify(bench)).toContain('Job 7, Orrin K3, Ines: waits for a part until 2026-03-20');
    expect(JSON.stringify(shelf)).toContain('battery of Orrin K3: 0 here, 0 on order, 2 wanted');
    expect(phones).toMatchObject({ kind: 'steps', heading: 'From spent to came back' });
    expect(JSON.stringify(phones)).toContain(
      '(job 1): AUD 24.00 spent, AUD 148.00 came back; 4 days, 1.3 h, Ines',
    );
    expect(JSON.stringify(rest)).toContain(
      'Together AUD 104.00 spent, AUD 286.00 came back, AUD 242.00 left.',
    );
    expect(JSON.stringify(front)).not.toMatch(/CO2e|kg of phones|ADEME/);
    expect(JSON.stringify(reply.blocks)).toContain('kg CO2e');
    // What somebody wrote beside it stays on the board.
    expect(wordsOf(reply)).not.toContain('Moss has the money');
  });
  it('shows mass and gas as ranges, each figure with its source and how far that was read', () => {
    filled();
    const reply = tin.say('/week preview 2026-W09');
    const { mass, gas } = weekData.parse(reply.data);
    // 3 x 140 to 230 g (from memory); 3 x 29.6/3 kg (the making; Fraunhofer IZM 2020, from memory) to 3 x 24.6 kg (ADEME 2022).
    expect(mass?.low).toBeCloseTo(0.42, 9);
    expect(mass?.high).toBeCloseTo(0.69, 9);
    expect(gas?.low).toBeCloseTo(29.6, 9);
    expect(gas?.high).toBeCloseTo(73.8, 9);
    const words = wordsOf(reply);
    for (const part of [
      '30 to 74 kg CO2e',
      '0.42 to 0.69 kg of phones',
      '(as reported)',
      '(from memory)',
      'from memory, not read again',
    ])
      expect(words).toContain(part);
    expect(reply.sources.map(({ title }) => title.split(':')[0])).toEqual([
      'ADEME, the French agency for ecological transition',
      'Fraunhofer IZM',
      'Fraunhofer IZM',
    ]);
  });
  it('carries a picture whose alternative text says what it shows', () => {
    filled();
    const [file, ...more] = tin.say('/week preview 2026-W09').files;
    expect(more).toEqual([]);
    expect(file).toMatchObject({
      name: 'week-2026-W09.png',
      mime: 'image/png',
      draw: { kind: 'week-chart' },
    });
    const drawn = weekChartData.parse(file?.draw?.data);
    expect(file?.alt).toContain('3 phones back in use');
    for (const { model, outWords, backWords } of drawn.phones)
      for (const part of [model, outWords, backWords]) expect(file?.alt).toContain(part);
    for (const { label, value } of drawn.figures) expect(file?.alt).toContain(`${value} ${label}`);
    expect(file?.alt).toContain('Learnt: Job 2');
  });
  it('draws eight phones at most, and counts the rest', () => {
    for (let index = 0; index < 11; index += 1)
      finishJob(tin.store, { endedAt: `2026-02-24T0${index % 10}:00:00Z` });
    const reply = tin.say('/week preview 2026-W09');
    const drawn = weekChartData.parse(reply.files[0]?.draw?.data);
    expect([drawn.phones.length, drawn.more, drawn.title]).toEqual([8, 3, 'From spent to came back']);
    expect(weekData.parse(reply.data).restored).toHaveLength(11);
    expect(reply.files[0]?.alt).toContain('and 3 more');
  });
  it('says in one line that a week was empty', () => {
    const reply = tin.say('/week preview 2026-W07');
    expect(reply).toMatchObject({
      title: 'No phone was restored in week 2026-W07 (9 – 15 February 2026).',
      blocks: [],
      files: [],
    });
    expect(weekData.parse(reply.data).restored).toEqual([]);
  });
  it('without a week is about the one of the next post, as it stands; anybody may look, and nothing is saved', () => {
    filled();
    // Only when a person was last seen is saved, as with every command.
    const saved = () => ({ ...tin.dump(), people: [] });
    const before = saved();
    const running = tin.say('/week', { role: 'visitor', now: new Date('2026-03-04T00:00:00Z') });
    expect(running.title).toBe('Week 2026-W10: 1 phone back in use');
    expect(wordsOf(running)).toContain('The week is not over');
    // On Monday before nine the next post is about the week that just ended.
    const early = tin.say('/week', { now: new Date('2026-03-01T21:00:00Z') });
    expect(early.title).toBe('Week 2026-W09: 3 phones back in use');
    expect(wordsOf(early)).not.toContain('not over');
    expect(saved()).toEqual(before);
  });
  it('says that a week is posted', () => {
    filled();
    tin.store.weeks.sending('2026-W09', 'here', '{}', tin.now);
    expect(wordsOf(tin.say('/week preview 2026-W09'))).not.toContain('This week is posted');
    tin.store.weeks.sent('2026-W09', 'here', '1', tin.now);
    expect(wordsOf(tin.say('/week preview 2026-W09'))).toContain('This week is posted');
  });
  it.each([
    ['2026-W54', '"2026-W54" is not a week'],
    ['2025-W53', '"2025-W53" is not a week'],
    ['soon', '"soon" is not a week'],
    ['2026-W11', '2026-W11 has not begun; this is 2026-W10'],
  ])('refuses %s', (written, problem) => {
    filled();
    const before = tin.dump();
    const refused = tin.say(`/week preview ${written}`);
    expect(refused.outcome).toBe('refused');
    expect(refused.title).toContain(problem);
    expect(tin.dump()).toEqual(before);
  });
  it('holds nothing private: no note, no IMEI, no word from the log', () => {
    filled();
    tin.store.jobs.add(1, [{ kind: 'said', text: 'the drawer key is under the mat' }], {
      by: actor('Ines'),
      at: tin.now,
    });
    tin.store.notes.add('terminal:Ines', { text: 'a private matter', job: 1 }, tin.now);
    const words = wordsOf(tin.say('/week preview 2026-W09'));
    expect(words).not.toMatch(/drawer key|private matter|imei|terminal:/i);
  });
});

describe('/week post', () => {
  it('asks for the last full week, or the one that is named, and for one only once', () => {
    filled();
    const reply = tin.say('/week post', steward);
    expect(weekPostData.parse(reply.data)).toEqual({ asked: '2026-W09' });
    tin.say('/week post', steward);
    tin.say('/week post 2026-W07', steward);
    expect(tin.store.weeks.asked().map(({ week: one }) => one)).toEqual(['2026-W07', '2026-W09']);
  });
  it.each([
    ['a running week', '/week post 2026-W10', 'Week 2026-W10 is not over.'],
    ['a posted week', '/week post 2026-W08', 'Week 2026-W08 is posted already, and no week is posted twice.'],
  ])('refuses %s', (_, line, problem) => {
    tin.store.weeks.sending('2026-W08', 'here', '{}', tin.now);
    tin.store.weeks.sent('2026-W08', 'here', '1', tin.now);
    const before = tin.dump();
    expect(tin.say(line, steward)).toMatchObject({ title: problem, data: { code: 'wrong-state' } });
    expect(tin.dump()).toEqual(before);
  });
  it('is for stewards, as is turning the post on and off', () => {
    tin.say('/week');
    const before = tin.dump();
    for (const line of ['/week post', '/week on', '/week off'])
      expect(tin.say(line)).toMatchObject({ outcome: 'refused', data: { code: 'not-allowed' } });
    expect(tin.dump()).toEqual(before);
  });
});

describe('/week off and on', () => {
  const settings = () => tin.database.collectives.find('Tin Shed')?.settings;
  it('turn it off and on, and say when the next one is', () => {
    tin.say('/setup week-day:friday week-hour:18', steward);
    expect(weekSwitchData.parse(tin.say('/week off', steward).data)).toEqual({
      on: false,
      changed: true,
      next: null,
    });
    expect(settings()?.weekOn).toBe(false);
    const on = tin.say('/week on', steward);
    // Friday 6 March 2026, 18:00 in Sydney.
    expect(weekSwitchData.parse(on.data)).toEqual({
      on: true,
      changed: true,
      next: { week: '2026-W09', at: '2026-03-06T07:00:00.000Z' },
    });
    expect(wordsOf(on)).toContain('Friday, 6 March 2026 at 18:00');
    expect(settings()).toMatchObject({ weekOn: true, weekDay: 5, weekHour: 18, currency: 'AUD' });
  });
  it('say so where it was so already', () => {
    const on = tin.say('/week on', steward);
    expect(on.title).toBe('The weekly post is on: it was so already');
    expect(weekSwitchData.parse(on.data).changed).toBe(false);
  });
});

describe('swap reports in the week', () => {
  const report = (effect: 'lost' | 'free', at: string) =>
    tin.store.swaps.add({
      family: 'glued-front-home-sensor',
      model: null,
      component: 'battery',
      grade: 'copy',
      board: 'same',
      effect,
      saw: 'words of a member',
      mended: '',
      job: null,
      by: actor('Ines'),
      at: new Date(at),
    });
  it('are what was learnt where no fault surprised; not one that was set aside, nor one of another week', () => {
    finishJob(tin.store, { endedAt: '2026-02-24T01:00:00Z' });
    const learnt = () => weekData.parse(tin.say('/week preview 2026-W09').data).learnt;
    report('lost', '2026-03-02T01:00:00Z');
    report('free', '2026-02-24T01:00:00Z');
    expect(learnt()).toBeNull();
    const { number } = report('lost', '2026-02-24T01:00:00Z');
    expect(learnt()).toMatchObject({ kind: 'swap', number, component: 'battery', effect: 'lost' });
    expect(wordsOf(tin.say('/week preview 2026-W09'))).not.toContain('words of a member');
    tin.store.swaps.setAside(number, { by: actor('Wren'), at: tin.now, why: 'wrong part' });
    expect(learnt()).toBeNull();
  });
});
