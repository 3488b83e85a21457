import { describe, expect, it } from 'vitest';
import type { RefusalCode } from '../../commands/framework/refusal.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { jobListData } from '../../commands/job/list.ts';
import { fits } from '../../knowledge/features.ts';
import { refusalOf, type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const IMEI = '490154203237518';

function tinShed(): TestBot {
  const made = testBot();
  made.say('/family name model:"Orrin K3" as:glued-front-home-sensor new-price:400', { role: 'steward' });
  made.say('/family name model:"Vesper Loam" as:glued-back-under-display new-price:700', {
    role: 'steward',
  });
  return made;
}
const data = (reply: Reply) => jobData.parse(reply.data);
/** Says something that must be answered. */
function must(made: TestBot, line: string, how: Saying = {}): Reply {
  const reply = made.say(line, how);
  if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
  return reply;
}
const GOOD = 'ownership:shown lock:free stolen:clear';
/** A job past its questions. */
function onTheBench(made: TestBot, how: Saying = {}): Reply {
  return must(made, `/job open "Orrin K3" came:given symptoms:"dead, no charge" ${GOOD}`, how);
}
const allFunctions = (reply: Reply): string =>
  data(reply)
    .untested.filter((id) => id !== 'seal')
    .join(', ');

/** Refused with such a code, or in such words, and nothing is changed. */
function refused(made: TestBot, line: string, why: RefusalCode | RegExp, how: Saying = {}): Reply {
  const before = made.dump();
  const reply = made.say(line, how);
  expect(reply.outcome, line).toBe('refused');
  expect(reply.audience).toBe('asker');
  if (typeof why === 'string') expect(refusalOf(reply)?.code, line).toBe(why);
  else expect(wordsOf(reply)).toMatch(why);
  expect(made.dump()).toEqual(before);
  return reply;
}

describe('/job open', () => {
  it('gives a number, says what is expected, and asks the first of three questions before money', () => {
    const made = tinShed();
    const reply = must(made, '/job open "Orrin K3" came:given symptoms:"dead, no charge"');
    expect(reply.title).toBe('Job 1 is open: Orrin K3');
    expect(data(reply)).toMatchObject({
      job: 1,
      state: 'intake',
      holder: 'Ines',
      answers: { ownership: null },
    });
    expect(wordsOf(reply)).toContain('Is it shown whose it is?');
    expect(wordsOf(reply)).toContain('Expected at intake');
    expect(data(must(made, '/job open "Orrin K3"')).job).toBe(2);
  });

  it('promises what /worth says of the same phone', () => {
    const made = tinShed();
    const worth = must(made, '/worth "Orrin K3" price:20 symptoms:"dead, no charge"');
    const job = must(made, '/job open "Orrin K3" came:bought price:20 symptoms:"dead, no charge"');
    const ways = (worth.data as { verdict: string; ways: { way: string; mean: unknown }[] }).ways;
    expect(ways.map(({ mean }) => mean)).toContainEqual(data(job).promise.mean);
    expect(data(job).out).toEqual({ amount: '20.00', currency: 'AUD' });
  });

  it('checks the IMEI, shows its last four digits and seals the rest', () => {
    const made = tinShed();
    const reply = must(made, `/job open "Orrin K3" imei:${IMEI}`);
    expect(wordsOf(reply)).toContain('ends in 7518');
    expect(wordsOf(reply)).not.toContain(IMEI);
    expect(JSON.stringify(made.dump())).not.toContain(IMEI);
    expect(made.store.jobs.imeiOf(1)).toBe(IMEI);
  });

  it('never repeats an IMEI in a refusal', () => {
    const made = tinShed();
    for (const line of [
      '/job open "Orrin K3" imei:490154203237519',
      '/job open "Orrin K4" imei:490154203237519',
      '/job open "Orrin K3" colour:490154203237519',
      '/job opne "Orrin K3" imei:49-015420-323751-9',
      '490154203237519',
    ]) {
      expect(wordsOf(made.say(line)).replace(/\D/g, '')).not.toContain('490154203237519');
    }
    refused(made, '/job open "Orrin K3" imei:490154203237519', /check digit is wrong/);
  });

  it('learns what a TAC turned out to be, and suggests it', () => {
    const made = tinShed();
    refused(made, `/job open imei:${IMEI}`, 'missing-option');
    must(made, `/job open "Vesper Loam" imei:${IMEI}`);
    const next = must(made, '/job open imei:49015420000000');
    expect(next.title).toContain('Vesper Loam');
    expect(wordsOf(next)).toContain('begins like one here');
    expect(wordsOf(must(made, `/job open "Orrin K3" imei:${IMEI}`))).toContain('Look again');
  });

  it('refuses a price for a gift, and a model that nobody named', () => {
    const made = tinShed();
    refused(made, '/job open "Orrin K3" came:given price:20', 'bad-option');
    refused(made, '/job open "Orin K3"', /Orrin K3/);
    refused(made, '/job open', 'missing-option');
    refused(made, '/job open "Orrin K3"', 'not-allowed', { role: 'visitor' });
  });

  it('puts the caution of a swollen cell before everything', () => {
    const reply = must(
      tinShed(),
      '/job open "Orrin K3" symptoms:"dead, no charge, swollen cell, screen or back lifting"',
    );
    expect(reply.cautions[0]?.id).toBe('swollen-cell');
  });
});

describe('the three questions', () => {
  it('block parts, fitting, tests and the end until they are answered', () => {
    const made = tinShed();
    must(made, '/job open "Orrin K3" symptoms:dead');
    refused(made, '/job log out:14 for:part', 'wrong-state');
    refused(made, '/job log fitted:battery grade:copy', 'wrong-state');
    refused(made, '/job test pass:display', 'wrong-state');
    refused(made, '/job finish restored page:seen sold:100', 'wrong-state');
    refused(made, '/job finish stripped', 'wrong-state');
    refused(made, '/job finish passed', 'wrong-state');
    must(made, '/job log minutes:5');
    const reply = must(made, `/job answer ${GOOD}`);
    expect(data(reply).state).toBe('bench');
    must(made, '/job log fitted:battery grade:copy out:14');
  });

  it.each([
    ['ownership:not-shown', /ownership is not shown/],
    ['lock:locked', /locked to an account/],
    ['stolen:listed', /stolen-phone list/],
  ])('a bad answer (%s) holds the phone and says how it goes back', (bad, words) => {
    const made = tinShed();
    must(made, '/job open "Orrin K3" symptoms:dead');
    const reply = must(made, `/job answer ${GOOD.replace(new RegExp(`${bad.split(':')[0]}:\\S+`), bad)}`);
    expect(data(reply).state).toBe('held');
    expect(reply.tone).toBe('caution');
    expect(wordsOf(reply)).toContain('What local law asks of you here comes first.');
    expect(reply.cautions.map(({ id }) => id)).toContain('data-and-ownership');
    refused(made, '/job log out:5', words);
    expect(data(must(made, '/job finish handed-back')).ended).toMatchObject({ as: 'handed-back' });
  });

  it('a trace of a job begins from what it was said to show at intake', () => {
    const made = tinShed();
    must(made, '/job open "Orrin K3" symptoms:"dead, no charge"');
    must(made, '/job open "Orrin K3"');
    const asked = must(made, '/trace start job:1');
    expect(made.store.traces.get(1)?.symptoms).toEqual(['dead', 'no-charge']);
    expect(asked.data).toMatchObject({ trace: 1, state: 'asking' });
    refused(made, '/trace start job:2', 'missing-option');
    refused(made, '/trace start model:"Orrin K3"', 'missing-option');
  });

  it('keep a trace off the board of a held phone', () => {
    const made = tinShed();
    must(made, '/job open "Orrin K3" symptoms:"dead, no charge" lock:locked');
    must(made, '/trace "dead, no charge" job:1');
    const { knowledge } = made.context();
    const family = knowledge.families.get('glued-front-home-sensor');
    const onBoard = [...knowledge.checks.values()].find(
      (check) => family && check.access === 'board' && fits(family, check),
    );
    refused(
      made,
      `/trace answer ${onBoard?.outcomes[0]?.id} step:"${onBoard?.name}"`,
      /Its board is not worked on/,
    );
  });

  it('offers the answers as choices, and an old one is refused once the job has moved on', () => {
    const made = tinShed();
    const asked = must(made, '/job open "Orrin K3"');
    const [shown, notShown] = asked.choices;
    expect(made.say({ token: shown?.token ?? '' }).outcome).toBe('answered');
    const late = made.say({ token: notShown?.token ?? '' });
    expect(late.outcome).toBe('refused');
    expect(wordsOf(late)).toContain('has moved on');
  });
});

describe('/job log', () => {
  it('adds up money and minutes to the penny', () => {
    const made = tinShed();
    must(made, `/job open "Orrin K3" came:bought price:20 ${GOOD}`);
    must(made, '/job log fitted:battery grade:copy out:14.10 minutes:25');
    must(made, '/job log out:4.95 for:shipping');
    const reply = must(made, '/job log in:8 component:"front camera" minutes:5');
    expect(data(reply)).toMatchObject({
      out: { amount: '39.05', currency: 'AUD' },
      back: { amount: '8.00', currency: 'AUD' },
      net: { amount: '-31.05', currency: 'AUD' },
      minutes: 30,
    });
  });

  it('says at once what a fitted component is paired to', () => {
    const made = tinShed();
    onTheBench(made);
    expect(wordsOf(must(made, '/job log fitted:"fingerprint sensor" grade:used'))).toContain(
      'what the swap does',
    );
  });

  it('keeps readings with their unit', () => {
    const made = tinShed();
    onTheBench(made);
    expect(must(made, '/job log reading:"450mA at the charger"').title).toContain(
      'read 0.45 A, at the charger',
    );
    refused(made, '/job log reading:"warm"', 'bad-option');
    refused(made, '/job log reading:"3.8"', 'bad-option');
  });

  it('refuses what says nothing, or not enough', () => {
    const made = tinShed();
    onTheBench(made);
    refused(made, '/job log', 'missing-option');
    refused(made, '/job log fitted:battery', 'missing-option');
    refused(made, '/job log for:part', 'missing-option');
    refused(made, '/job log grade:copy minutes:5', 'missing-option');
    refused(made, '/job log trace:9', 'not-found');
    refused(made, '/job log fitted:hinge-assembly grade:used', 'bad-option');
    refused(made, '/job log minutes:5 job:77', 'not-found');
    must(made, '/trace dead model:"Vesper Loam"');
    refused(made, '/job log trace:1', 'bad-option');
  });

  it('strikes out and never overwrites: by who wrote it, or a steward', () => {
    const made = tinShed();
    onTheBench(made);
    must(made, '/job log out:14 for:part');
    const entry = data(must(made, '/job')).entries.at(-1)?.seq;
    refused(made, `/job strike ${entry} why:typo job:1`, 'not-allowed', { as: 'Wren' });
    refused(made, '/job strike 99 why:typo job:1', 'not-found');
    const reply = must(made, `/job strike ${entry} why:"typed twice" job:1`);
    expect(data(reply).out.amount).toBe('0.00');
    expect(data(reply).entries.at(-1)).toMatchObject({ struck: true, kind: 'money' });
    expect(wordsOf(must(made, '/job 1'))).toContain('AUD 14.00 spent: part');
    expect(wordsOf(must(made, '/job 1'))).toContain('struck out by Ines (typed twice)');
    refused(made, `/job strike ${entry} why:again job:1`, 'wrong-state');
    must(made, '/job log minutes:5');
    must(made, '/job strike 5 why:"not mine" job:1', { as: 'Bram', role: 'steward' });
  });
});

describe('/job test', () => {
  it('walks the functions in the groups of the bench, one tap a group, the seal last', () => {
    const made = tinShed();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    let reply = must(made, '/job test');
    const asked: string[][] = [];
    while (reply.choices.some(({ invoke }) => invoke.options.pass)) {
      const all = reply.choices[0];
      asked.push((all?.invoke.options.pass ?? '').split(', '));
      expect(wordsOf(reply).includes('before the seal is pressed')).toBe(!asked.at(-1)?.includes('seal'));
      // Current only once the phone has been seen to start, and its caution with it.
      expect(reply.cautions.length > 0 || !asked.at(-1)?.includes('charge')).toBe(true);
      reply = made.say({ token: all?.token ?? '' });
    }
    expect(asked).toHaveLength(5);
    expect(asked[0]).toEqual(['start', 'display', 'touch']);
    expect(asked[1]).toContain('rear-camera');
    expect(asked[2]).toContain('radios');
    expect(asked[3]).toEqual(['charge', 'battery', 'charge-pad']);
    expect(asked[4]).toEqual(['seal']);
    expect(data(reply).untested).toEqual([]);
    expect(reply.tone).toBe('good');
  });

  it('asks the rest of a group again after one of it failed or could not be tested', () => {
    const made = tinShed();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    const choose = (reply: Reply, label: string) =>
      made.say({ token: reply.choices.find((one) => one.label === label)?.token ?? '' });
    let reply = choose(must(made, '/job test'), 'Fails: touch');
    expect(reply.choices[0]?.label).toBe('All 2 pass');
    reply = choose(reply, 'Cannot be tested here: display');
    expect(reply.choices[0]?.label).toBe('Passes');
    reply = choose(reply, 'Passes');
    expect(data(reply).tests).toEqual([
      { function: 'touch', result: 'fail', reason: '' },
      { function: 'display', result: 'waived', reason: 'could not be tested here' },
      { function: 'start', result: 'pass', reason: '' },
    ]);
    expect(reply.title).toContain('everything plugged in');
  });

  it('has no seal and no wireless pad for a family without them', () => {
    const made = tinShed();
    made.say('/family name model:"Tarn 8" as:keypad-removable-back', { role: 'steward' });
    const reply = must(made, `/job open "Tarn 8" ${GOOD}`);
    expect(data(reply).untested).not.toContain('seal');
    expect(data(reply).untested).not.toContain('charge-pad');
    expect(data(reply).untested).toContain('keys');
    refused(made, '/job test pass:seal', /has no seal to test/);
  });

  it('wants a reason for what is waived', () => {
    const made = tinShed();
    onTheBench(made);
    refused(made, '/job test waive:radios', 'missing-option');
    refused(made, '/job test pass:display fail:display', 'bad-option');
    must(made, '/job test waive:radios reason:"no SIM at hand"');
  });

  it('warns when the seal is closed before all is tested', () => {
    const made = tinShed();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    expect(wordsOf(must(made, '/job log fitted:gasket grade:original'))).toContain(
      'before the gasket is pressed',
    );
    const reply = must(made, '/job test pass:seal');
    expect(reply.tone).toBe('caution');
    expect(wordsOf(reply)).toContain('has to be opened again');
  });
});

describe('/job finish', () => {
  it('refuses what is not so: untested, failed, not erased, no price', () => {
    const made = tinShed();
    const opened = onTheBench(made);
    refused(made, '/job finish restored page:seen sold:138', /Not tested: .*erased/);
    must(made, `/job test pass:"${allFunctions(opened)}"`);
    refused(made, '/job finish restored page:seen sold:138', /not erased/);
    must(made, '/job answer data:purge');
    refused(made, '/job finish restored page:seen', /What it brought is not said/);
    must(made, '/job test fail:fingerprint');
    refused(made, '/job finish restored page:seen sold:138', /Failed: fingerprint/);
    must(made, '/job test waive:fingerprint reason:"does not read; told"');
    const reply = must(made, '/job finish restored page:seen sold:138');
    expect(data(reply).ended).toMatchObject({ as: 'restored', kept: false });
    expect(reply.title).toContain('AUD 138.00 left');
  });

  it('wants a sealed family sealed, or to be told that it is not', () => {
    const made = tinShed();
    const opened = must(made, `/job open "Vesper Loam" ${GOOD} data:purge`);
    must(made, `/job test pass:"${allFunctions(opened)}"`);
    refused(made, '/job finish restored page:seen sold:200', /unsealed:yes/);
    expect(data(must(made, '/job finish restored page:seen sold:200 unsealed:yes')).ended?.sealed).toBe(
      false,
    );
  });

  it('lets a customer keep what is on it, and nobody else', () => {
    const made = tinShed();
    const opened = must(made, `/job open "Orrin K3" came:customer ${GOOD} data:owner-keeps`);
    must(made, `/job test pass:"${allFunctions(opened)}"`);
    must(made, '/job finish restored page:seen sold:40');
    const given = must(made, `/job open "Orrin K3" came:given ${GOOD} data:owner-keeps`);
    must(made, `/job test pass:"${allFunctions(given)}"`);
    refused(made, '/job finish restored page:seen sold:40', /not erased/);
  });

  it('keeps the parts of a stripped one, and asks what becomes of its data', () => {
    const made = tinShed();
    onTheBench(made);
    refused(made, '/job finish stripped parts:"front camera"', /data on its board/);
    must(made, '/job answer data:destroy');
    refused(made, '/job finish stripped parts:hinge-assembly', 'bad-option');
    refused(made, '/job finish passed parts:"front camera"', 'bad-option');
    const reply = must(made, '/job finish stripped parts:"front camera, speaker"');
    expect(wordsOf(reply)).toContain('On the shelf now: front-facing camera assembly and speaker');
  });

  it('is the end: nothing is added afterwards, until it is opened again', () => {
    const made = tinShed();
    onTheBench(made);
    must(made, '/job finish passed note:"to the school"');
    for (const line of [
      '/job log minutes:5 job:1',
      '/job test pass:display job:1',
      '/job answer lock:free job:1',
      '/job take job:1',
      '/job finish passed job:1',
      '/job strike 1 why:x job:1',
    ])
      refused(made, line, 'wrong-state', { as: 'Wren', role: 'steward' });
    refused(made, '/job reopen why:mine job:1', 'not-allowed', { as: 'Wren' });
    refused(made, '/job reopen why:mine', 'missing-option');
    expect(data(must(made, '/job reopen "came back" job:1')).ended).toBeNull();
    refused(made, '/job reopen "again" job:1', 'wrong-state');
  });

  it('says how it turned out beside what was promised', () => {
    const made = tinShed();
    made.say('/prices add "Orrin K3" price:140 condition:fair');
    const opened = must(
      made,
      `/job open "Orrin K3" came:given symptoms:"dead, no charge" ${GOOD} data:purge`,
    );
    must(made, '/job log fitted:battery grade:copy out:14 minutes:30');
    must(made, `/job test pass:"${allFunctions(opened)}"`);
    const reply = must(made, '/job finish restored page:seen sold:138');
    // 138 - 14, and half an hour at the reference rate of AUD 60.
    expect(reply.title).toContain('AUD 124.00 left');
    expect(wordsOf(reply)).toContain('AUD 94.00 is left when the bench time is paid');
  });
});

describe('who has it', () => {
  it('is taken, or handed on by who holds it', () => {
    const made = tinShed();
    onTheBench(made);
    must(made, '/job list', { as: 'Wren' });
    refused(made, '/job hand Wren job:1', 'not-allowed', { as: 'Bram' });
    refused(made, '/job hand Nobody job:1', 'not-found');
    expect(data(must(made, '/job hand Wren')).holder).toBe('Wren');
    refused(made, '/job take job:1', 'wrong-state', { as: 'Wren' });
    expect(data(must(made, '/job take job:1', { as: 'Bram' })).holder).toBe('Bram');
    expect(wordsOf(must(made, '/job 1'))).toContain('handed from Ines to Wren');
  });

  it('lists open jobs, and mine', () => {
    const made = tinShed();
    expect(must(made, '/job list').title).toBe('No job is open');
    onTheBench(made);
    onTheBench(made, { as: 'Wren' });
    const later = new Date(made.now.getTime() + 3 * 24 * 3600 * 1000);
    const all = jobListData.parse(must(made, '/job list', { now: later }).data);
    expect(all).toMatchObject({ open: 2, jobs: [{ job: 2, holder: 'Wren', days: 3 }, { job: 1 }] });
    expect(jobListData.parse(must(made, '/job list mine:yes').data).jobs).toHaveLength(1);
    refused(made, '/job log minutes:5', 'missing-option', { as: 'Bram' });
  });

  it('is nobody’s in another collective', () => {
    const made = tinShed();
    onTheBench(made);
    const other = made.database.collectives.create('Harbour Bench');
    const reply = made.dispatcher.handle({
      collective: other.id,
      person: { key: 'terminal:Moss', name: 'Moss', role: 'steward' },
      direct: false,
      now: made.now,
      say: { line: '/job show job:1' },
    });
    expect(wordsOf(reply)).toContain('There is no job 1 here');
  });
});

describe('/job page', () => {
  it('tells the next owner what was done, what is not original, water, oddities, battery, and nothing private', () => {
    const made = tinShed();
    const opened = must(made, `/job open "Vesper Loam" came:bought price:61 imei:${IMEI} ${GOOD} data:purge`);
    must(made, '/job log fitted:"display assembly" grade:copy out:90 minutes:40');
    must(made, '/job log reading:"86 % capacity"');
    must(made, `/job test pass:"${allFunctions(opened).replace(', radios', '')}"`);
    must(made, '/job test waive:radios reason:"no SIM at hand"');
    must(made, '/job finish restored page:seen sold:240 unsealed:yes');
    const reply = must(made, '/job page job:1');
    const sheet = reply.files.find(({ name }) => name.endsWith('.md'))?.text ?? '';
    for (const words of [
      'display assembly: copy',
      'Not original',
      'Water resistance is not assured',
      'left unsealed',
      'no SIM at hand',
      'capacity: 86 %',
      'purged',
      'Local codes and licensed practice come first',
    ])
      expect(sheet).toContain(words);
    for (const words of ['Ines', '61', '90.00', '240', '7518', IMEI]) expect(sheet).not.toContain(words);
    expect(reply.files.map(({ mime }) => mime)).toEqual(['text/markdown', 'application/pdf']);
  });

  it('is a draft before the end, and refused for a phone that was not restored', () => {
    const made = tinShed();
    onTheBench(made);
    expect(wordsOf(must(made, '/job page'))).toContain('A draft');
    must(made, '/job finish passed');
    refused(made, '/job page job:1', 'wrong-state');
  });

  it('lets nothing that was typed become markup', () => {
    const made = tinShed();
    onTheBench(made);
    must(made, '/job test waive:radios reason:"**Bold** [x](http://x)"');
    const [file] = must(made, '/job page').files;
    expect(file?.text).toContain('Bold');
    expect(file?.text).not.toContain('**Bold**');
    expect(file?.text).not.toContain('[x](');
  });
});

describe('a trace for a job', () => {
  it('is linked from the start, and its fault and remedy are the job’s', () => {
    const made = tinShed();
    const opened = onTheBench(made);
    const choice = opened.choices.find(({ label }) => label === 'Trace the fault');
    expect(made.say({ token: choice?.token ?? '' }).title).toContain('Trace 1');
    must(made, '/trace answer "0.00 A" step:"Current at the charger"');
    must(made, '/trace answer boots step:"Known-good test cell"');
    let reply = must(made, '/trace show 1');
    for (let turn = 0; turn < 12 && !reply.title.includes('mended'); turn += 1) {
      const { state, step } = reply.data as { state: string; step: { id: string } | null };
      const check = made.context().knowledge.checks.get(step?.id ?? '');
      const row = check?.given.faults['battery-open'] ?? check?.given.otherwise ?? [];
      reply = must(
        made,
        `/trace answer ${state === 'remedy' ? 'works' : check?.outcomes[row.indexOf(Math.max(...row))]?.id}`,
      );
    }
    expect(reply.title).toContain('mended');
    expect(reply.choices.map(({ label }) => label)).toContain('Test its functions');
    must(made, '/job answer data:purge');
    must(made, `/job test pass:"${allFunctions(opened)}"`);
    const done = must(made, '/job finish restored page:seen sold:138');
    expect(data(done).ended?.fault).toMatch(/battery/);
    expect(wordsOf(done)).toContain('Later traces learn from it');
    expect(wordsOf(must(made, '/trace dead model:"Orrin K3"'))).toContain(
      '1 closed job here, 1 of this family',
    );
    expect(wordsOf(must(made, '/worth "Orrin K3" symptoms:dead'))).toContain(
      '1 closed job here, 1 of this family',
    );
    must(made, '/job reopen "came back" job:1');
    expect(wordsOf(must(made, '/trace dead model:"Orrin K3"'))).toContain('no closed jobs here yet');
  });
});
