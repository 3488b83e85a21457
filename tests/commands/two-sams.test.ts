/** Two people who go by one name: what each does stays theirs, since a person is known by their key. */
import { beforeEach, describe, expect, it } from 'vitest';
import { mydataExportData, mydataFile } from '../../commands/mydata/export.ts';
import { ERASED_NAME } from '../../shared/store/index.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

let tin: TestBot;
const FIRST = { key: 'discord:1', name: 'Sam' };
const SECOND = { key: 'matrix:@sam:example.org', name: 'Sam' };
const say = (who: typeof FIRST, line: string, direct = false) =>
  tin.dispatcher.handle({
    collective: tin.collective.id,
    person: { ...who, role: 'member' },
    direct,
    now: tin.now,
    say: { line },
  });
const answered = (who: typeof FIRST, line: string, direct = false) => {
  const reply = say(who, line, direct);
  expect(reply.outcome, `${line}: ${reply.title}`).toBe('answered');
  return reply;
};

beforeEach(() => {
  tin = testBot();
  answered(FIRST, '/family name "Orrin K3" as:glued-front-home-sensor');
});

describe('two people called Sam', () => {
  it('each go on with their own trace, and each step says whose it is', () => {
    answered(FIRST, '/trace dead model:"Orrin K3"');
    answered(SECOND, '/trace dead model:"Orrin K3"');
    // The newest open one is the second's; without a number the first still means their own.
    answered(FIRST, '/trace cannot');
    answered(SECOND, '/trace cannot');
    expect(tin.store.traces.get(1)).toMatchObject({ startedBy: FIRST, steps: [{ by: FIRST }] });
    expect(tin.store.traces.get(2)).toMatchObject({ startedBy: SECOND, steps: [{ by: SECOND }] });
    // A third of that name has begun none: the bot asks which instead of taking one.
    expect(say({ key: 'terminal:Sam', name: 'Sam' }, '/trace cannot')).toMatchObject({
      outcome: 'refused',
      title: 'Several traces are open.',
    });
  });

  it('each say of their own phone that it is dangerous', () => {
    answered(FIRST, '/trace dead model:"Orrin K3"');
    answered(SECOND, '/trace dead model:"Orrin K3"');
    answered(FIRST, '/danger swollen');
    expect(tin.store.phoneEvents.list({ kind: 'trace', number: 1 })).toMatchObject([{ by: FIRST }]);
    expect(tin.store.phoneEvents.list({ kind: 'trace', number: 2 })).toEqual([]);
  });

  it('each hold their own job, and neither closes, strikes or hands on for the other', () => {
    answered(FIRST, '/job open "Orrin K3" came:given symptoms:dead');
    answered(SECOND, '/job open "Orrin K3" came:given symptoms:dead');
    answered(FIRST, '/job log "of the first"');
    expect(tin.store.jobs.get(1)).toMatchObject({ openedBy: FIRST, holder: FIRST });
    expect(tin.store.jobs.get(1)?.entries.at(-1)).toMatchObject({ by: FIRST });
    expect(tin.store.jobs.get(2)?.entries).toEqual([]);
    const seq = tin.store.jobs.get(1)?.entries.at(-1)?.seq;
    expect(say(SECOND, `/job strike ${seq} why:"not mine" job:1`).outcome).toBe('refused');
    expect(say(SECOND, '/job hand Sam job:1').outcome).toBe('refused');
    answered(FIRST, '/job finish handed-back job:1');
    expect(tin.store.jobs.get(1)?.ended?.ending.by).toEqual(FIRST);
  });

  it('are told apart where a job is handed on', () => {
    answered(FIRST, '/job open "Orrin K3" came:given symptoms:dead');
    answered(SECOND, '/help');
    const vague = say(FIRST, '/job hand Sam job:1');
    expect(vague.outcome).toBe('refused');
    for (const { key } of [FIRST, SECOND]) expect(wordsOf(vague)).toContain(`Sam (${key})`);
    answered(FIRST, `/job hand "Sam (${SECOND.key})" job:1`);
    const job = tin.store.jobs.get(1);
    expect(job?.holder).toEqual(SECOND);
    expect(job?.entries.at(-1)?.entry).toEqual({ kind: 'handed', from: FIRST, to: SECOND });
  });

  it('each remove their own prices, and set nobody else’s words right', () => {
    answered(FIRST, '/prices add "Orrin K3" price:180');
    expect(say(SECOND, '/prices remove 1').outcome).toBe('refused');
    expect(tin.store.sightings.get(1)?.by).toEqual(FIRST);
    answered(SECOND, '/swap battery effect:notice of:"Orrin K3" grade:used');
    expect(tin.store.swaps.get(1)?.by).toEqual(SECOND);
    answered(SECOND, '/family name "Tarn 8" as:budget-port-on-board');
    expect(tin.store.models.findByName('Tarn 8')?.by).toEqual(SECOND);
  });

  it('each read their own notes', () => {
    answered(FIRST, '/note add "of the first"', true);
    expect(wordsOf(answered(SECOND, '/note list', true))).not.toContain('of the first');
    expect(wordsOf(answered(FIRST, '/note list', true))).toContain('of the first');
  });

  it('are exported and erased apart', () => {
    for (const who of [FIRST, SECOND]) {
      answered(who, '/trace dead model:"Orrin K3"');
      answered(who, '/trace cannot');
      answered(who, '/job open "Orrin K3" came:given symptoms:dead');
      answered(who, '/job finish handed-back');
      answered(who, '/note add "mine"', true);
    }
    const reply = answered(FIRST, '/mydata export', true);
    const json = mydataFile.parse(JSON.parse(reply.files[0]?.text ?? ''));
    expect(json.held.traces.map(({ number }) => number)).toEqual([1]);
    expect(json.held['trace-steps'].map(({ trace }) => trace)).toEqual([1]);
    expect(json.held.named.map(({ what, record }) => `${what} ${record}`)).toEqual([
      'model named Orrin K3',
      'closed job 1',
    ]);
    expect(mydataExportData.parse(reply.data).held).toMatchObject({ jobs: 1, notes: 1 });
    expect(JSON.stringify(reply.files)).not.toContain(SECOND.key);

    const before = tin.dump();
    answered(FIRST, '/mydata erase sure:yes', true);
    const rows = Object.entries(tin.dump()).flatMap(([, all]) => all.map((row) => JSON.stringify(row)));
    expect(rows.filter((row) => row.includes(FIRST.key))).toEqual([]);
    expect(tin.store.traces.get(1)).toMatchObject({
      startedBy: { name: ERASED_NAME },
      steps: [{ by: { name: ERASED_NAME } }],
    });
    expect(tin.store.jobs.get(1)?.ended?.ending.by.name).toBe(ERASED_NAME);
    // What has the second's key is as it was, row by row.
    const ofSecond = (dump: Record<string, unknown[]>) =>
      Object.entries(dump).flatMap(([table, all]) =>
        all.map((row) => `${table} ${JSON.stringify(row)}`).filter((row) => row.includes(SECOND.key)),
      );
    expect(ofSecond(tin.dump())).toEqual(ofSecond(before));
    expect(ofSecond(before).length).toBeGreaterThan(6);
  });
});
