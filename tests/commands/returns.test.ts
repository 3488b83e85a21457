/** A phone that comes back: what failed again, within what was promised, and what is learnt of it. */
import { describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { jobReturnsData } from '../../commands/job/returns.ts';
import { refusalOf, type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const GOOD = 'ownership:shown lock:free stolen:clear data:purge';
const DAY = 24 * 3600 * 1000;

function bench(): TestBot {
  const made = testBot();
  for (const line of [
    '/family name model:"Pip 2" as:keypad-removable-back new-price:60',
    '/setup promise:90',
  ])
    must(made, line, { role: 'steward' });
  return made;
}
function must(made: TestBot, line: string, how: Saying = {}): Reply {
  const reply = made.say(line, how);
  if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
  return reply;
}
const later = (made: TestBot, days: number): Saying => ({ now: new Date(made.now.getTime() + days * DAY) });
/** A phone with another cell, sold on the first day. */
function sold(made: TestBot, how: Saying = {}): number {
  const { job } = jobData.parse(must(made, `/job open "Pip 2" ${GOOD}`, how).data);
  if (job % 2) {
    must(made, '/shelf add battery of:"Pip 2" grade:copy price:9 from:"Elm Parts"', how);
    const part = made.store.shelf.list({ states: ['here'] })[0]?.number;
    must(made, `/shelf take ${part} job:${job}`, how);
  } else must(made, `/job log fitted:battery grade:copy job:${job}`, how);
  const { untested } = jobData.parse(must(made, `/job ${job}`, how).data);
  must(made, `/job test pass:"${untested.join(', ')}" job:${job}`, how);
  must(made, `/job finish restored page:seen sold:30 job:${job}`, how);
  return job;
}

describe('/job returned', () => {
  it('goes on in a job of its own, says what was promised, and leaves what was taught', () => {
    const made = bench();
    const first = sold(made);
    const taught = made.store.outcomeCounts.read();
    expect(wordsOf(must(made, `/job page job:${first}`))).toContain('fails again within 90 days');
    const back = must(made, `/job returned ${first} failed:battery symptoms:"drains fast"`, later(made, 40));
    expect(back.title).toBe('Job 2 is open: Pip 2, back from job 1');
    const words = wordsOf(back);
    expect(words).toContain('It was out for 40 days. That is within the 90 days that were promised.');
    expect(words).toContain('from Elm Parts: failed again');
    expect(jobData.parse(back.data)).toMatchObject({ job: 2, state: 'intake', came: 'customer' });
    expect(made.store.outcomeCounts.read()).toEqual(taught);
    expect(wordsOf(must(made, `/job ${first}`))).toContain('came back as job 2: battery failed again');
    expect(wordsOf(must(made, '/job 2'))).toContain('it is the phone of job 1');
    expect(refusalOf(made.say(`/job returned ${first}`, later(made, 41)))?.code).toBe('wrong-state');
    expect(refusalOf(made.say('/job returned 2', later(made, 41)))?.code).toBe('wrong-state');
    const seq = jobData.parse(must(made, '/job 2').data).entries[0]?.seq;
    expect(refusalOf(made.say(`/job strike ${seq} why:x job:2`))?.code).toBe('not-allowed');
  });

  it('says that a promise is over, and that another component says nothing of a part', () => {
    const made = bench();
    sold(made);
    const words = wordsOf(must(made, '/job returned 1 failed:speaker', later(made, 120)));
    expect(words).toContain('The 90 days that were promised are over.');
    expect(words).toContain('Not fitted here, so it says nothing of a part: speaker');
    expect(words).toContain('holds');
    expect(jobReturnsData.parse(must(made, '/job returns').data)).toMatchObject({ fitted: 1, failed: 0 });
    expect(refusalOf(made.say('/job returned 1 failed:hinge-assembly'))?.code).toBe('wrong-state');
  });
});

describe('what lasts', () => {
  it('is told by part, grade and supplier, and beside a remedy once there is enough', () => {
    const made = bench();
    for (let n = 0; n < 16; n += 1) sold(made, later(made, -300));
    // Two from the supplier fail within the promise, one after it.
    for (const [job, day] of [
      [1, 10],
      [3, 60],
      [5, 200],
    ] as const)
      must(made, `/job returned ${job} failed:battery`, later(made, day - 300));
    const found = jobReturnsData.parse(must(made, '/job returns').data);
    expect(found).toMatchObject({ fitted: 16, failed: 3 });
    const [elm, other] = found.parts;
    expect(elm).toMatchObject({ supplier: 'Elm Parts', fitted: 8, failed: 3, within: 2 });
    // 8 watched, one fails after 10 and one after 60 days: 7/8 * 6/7. What came later than the promise counts as watched to its end.
    expect(elm?.lasts).toMatchObject({ days: 90, share: 0.75 });
    expect(other).toMatchObject({ supplier: '', fitted: 8, failed: 0, lasts: { share: 1, low: 1 - 3 / 8 } });
    // Beside a remedy of another phone that takes such a part.
    must(made, '/family name model:"Vesper Loam" as:glued-back-under-display new-price:900', {
      role: 'steward',
    });
    for (let n = 0; n < 5; n += 1) must(made, '/prices add "Vesper Loam" price:400 how:sold condition:good');
    must(made, `/job open "Vesper Loam" symptoms:"drains fast" ${GOOD}`);
    let reply = must(made, '/trace start job:20');
    for (let turn = 0; turn < 25 && !wordsOf(reply).includes('lasted'); turn += 1) {
      const answers = reply.choices.filter(({ invoke }) => invoke.action === 'answer');
      const next =
        reply.choices.find(({ label }) => ['Nothing else to see', 'Done: no change'].includes(label)) ??
        answers.at(-1) ??
        reply.choices[0];
      reply = made.say({ token: next?.token ?? '' });
    }
    expect(wordsOf(reply)).toMatch(
      /Battery, copy: \d+ % \(\d+ % to \d+ %\) lasted 90 days here; 2 of 16 failed again/i,
    );
  });

  it('is forgotten of a job that is opened again', () => {
    const made = bench();
    sold(made);
    must(made, '/job reopen "wrong price" job:1');
    expect(made.store.fittings.list()).toEqual([]);
  });
});
