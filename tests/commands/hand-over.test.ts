/** The hand-over page says what is so of this phone, and nothing that is not. */
import { describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const GOOD = 'ownership:shown lock:free stolen:clear data:purge';

function bench(): TestBot {
  const made = testBot();
  made.say('/family name model:"Vesper Loam" as:glued-back-under-display new-price:700', { role: 'steward' });
  made.say('/family name model:"Pip 2" as:keypad-removable-back new-price:60', { role: 'steward' });
  return made;
}
function must(made: TestBot, line: string, how: Saying = {}): Reply {
  const reply = made.say(line, how);
  if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
  return reply;
}
/** The page of a job: its lines by heading. */
function pageOf(made: TestBot, job = 1): Record<string, string> {
  const file = must(made, `/job page job:${job}`).files.find(({ name }) => name.endsWith('.md'));
  return Object.fromEntries(
    (file?.text ?? '')
      .replaceAll('\\', '')
      .split(/^## /m)
      .map((section) => [section.split('\n')[0]?.trim() ?? '', section]),
  );
}
const passAll = (made: TestBot, job = 1): void => {
  const { untested } = jobData.parse(must(made, `/job ${job}`).data);
  must(made, `/job test pass:"${untested.join(', ')}" job:${job}`);
};

describe('the hand-over page', () => {
  it('has the readings of the cell that is in the phone now, and none of the one that came out', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" symptoms:"drains fast" ${GOOD}`);
    must(made, '/job log reading:"85 % capacity"');
    must(made, '/job log reading:"500 cycles"');
    expect(pageOf(made).Battery).toMatch(/85 %[\s\S]*500 cycles/);
    must(made, '/job log fitted:battery grade:copy out:14');
    const fresh = pageOf(made);
    expect(fresh.Battery).toContain('Another cell was fitted here: copy.');
    expect(fresh.Battery).toContain('Not measured since.');
    expect(JSON.stringify(fresh)).not.toMatch(/85 %|500 cycles/);
    must(made, '/job log reading:"99 % capacity"');
    expect(pageOf(made).Battery).toContain('99 %');
    expect(pageOf(made).Battery).not.toMatch(/85 %|cycles|Not measured/);
  });

  it('keeps the last reading of a kind only, and leaves a struck one out', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    must(made, '/job log reading:"80 % capacity"');
    must(made, '/job log reading:"82 % capacity"');
    expect(pageOf(made).Battery).not.toContain('80 %');
    const { entries } = jobData.parse(must(made, '/job 1').data);
    must(made, `/job strike ${entries.at(-1)?.seq} why:"other phone" job:1`);
    expect(pageOf(made).Battery).toContain('80 %');
  });

  it('says that it was opened, and the word on water, only where it was', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" symptoms:"drains fast" ${GOOD}`);
    expect(pageOf(made)['What was done']).toContain('It was not opened here.');
    expect(pageOf(made)).not.toHaveProperty('Water');
    must(made, '/job log fitted:battery grade:copy');
    expect(pageOf(made)['What was done']).toContain('It was opened here.');
    expect(pageOf(made).Water).toContain('Water resistance is not assured');
    // A back that comes off by hand, as meant for the owner, is no opening.
    must(made, `/job open "Pip 2" ${GOOD}`);
    must(made, '/job log fitted:battery grade:copy job:2');
    expect(pageOf(made, 2)['What was done']).toContain('It was not opened here.');
  });

  it('says that it got wet, or had a swollen cell, only where it did', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" symptoms:"drains fast" ${GOOD}`);
    expect(JSON.stringify(pageOf(made))).not.toMatch(/got wet|cell was found/);
    must(made, `/job open "Vesper Loam" symptoms:"got wet" ${GOOD}`);
    expect(pageOf(made, 2)['What was done']).toContain('It got wet');
  });

  it('names what was seen before what was reported before what is expected, and nothing against a report', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    must(made, '/job log fitted:"display assembly" grade:copy');
    must(made, '/job log oddity:"Speaker rattles at full volume"');
    const expected = pageOf(made)['Known oddities'] ?? '';
    expect(expected).toMatch(/Speaker rattles at full volume\.[\s\S]*Not seen here, but to be expected/);
    // Reported of another phone like it.
    must(
      made,
      '/swap report "display assembly" effect:notice of:"Vesper Loam" grade:copy saw:"a note at start"',
    );
    must(
      made,
      '/swap report "display assembly" effect:notice of:"Vesper Loam" grade:copy saw:"a note at start"',
    );
    const reported = pageOf(made)['Known oddities'] ?? '';
    expect(reported).toMatch(/Speaker rattles[\s\S]*Reported of phones like it here, 2 of 2 times/);
    // Seen on this one: all is well. What others saw is not said of it.
    must(made, '/swap report "display assembly" effect:free job:1 grade:copy');
    const own = pageOf(made)['Known oddities'] ?? '';
    expect(own).toContain('Speaker rattles at full volume.');
    expect(own).not.toMatch(/Reported|expected|display/);
    must(made, '/swap report "display assembly" effect:reduced job:1 grade:copy saw:"no auto brightness"');
    expect(pageOf(made)['Known oddities']).toContain('Seen on this phone');
    expect(pageOf(made)['Known oddities']).toContain('no auto brightness');
  });

  it('names what was wrong, the fault, the remedy, and an own panel under a new glass', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" symptoms:"drains fast" ${GOOD}`);
    must(made, '/job log fitted:"front glass" grade:copy');
    expect(pageOf(made)['What was done']).toContain('What was wrong when it came: battery drains fast');
    expect(pageOf(made)['Parts fitted']).toContain('The panel is the phone’s own, under a new glass.');
    passAll(made);
    must(made, '/job finish restored page:seen sold:90 fault:battery-worn');
    expect(pageOf(made)['What was done']).toContain('The fault: ');
    expect(pageOf(made)['What was done']).not.toContain('most likely');
  });

  it('is shown for a yes before the job closes, and closes with that yes and what was said with it', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    must(made, '/job log oddity:"dent at the lower edge"');
    passAll(made);
    const before = must(made, '/job 1');
    const draft = must(made, '/job finish restored sold:90 note:"to the school"');
    expect(draft.title).toContain('is this what the next owner should read?');
    expect(wordsOf(draft)).toContain('dent at the lower edge.');
    expect(must(made, '/job 1').data).toEqual(before.data);
    const yes = draft.choices.find(({ label }) => label === 'Yes, close it');
    expect(yes?.invoke.options).toEqual({
      as: 'restored',
      page: 'seen',
      sold: '90.00',
      note: 'to the school',
      job: '1',
    });
    // What is written in between makes the page another one: the old yes does not count.
    expect(yes?.revision).toBe(jobData.parse(before.data).revision);
    must(made, '/job finish restored page:seen sold:90');
    expect(jobData.parse(must(made, '/job 1').data).ended?.as).toBe('restored');
  });

  it('says which page it takes the place of, once a closed job was opened again', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    passAll(made);
    must(made, '/job finish restored page:seen sold:90');
    expect(JSON.stringify(pageOf(made))).not.toContain('Takes the place of');
    const day = made.now.toISOString().slice(0, 10);
    const later = new Date(made.now.getTime() + 40 * 24 * 3600_000);
    must(made, '/job reopen "came back" job:1', { now: later });
    must(made, '/job finish restored page:seen kept:yes', { now: later });
    expect(JSON.stringify(pageOf(made))).toContain(`Takes the place of: the page of ${day}`);
  });
});

describe('the supplier', () => {
  it('is on the page and in the sale text only where the collective wants it', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    must(made, '/shelf add battery of:"Vesper Loam" grade:copy price:9 from:"Elm Parts"');
    must(made, '/shelf take 1 job:1');
    expect(pageOf(made)['Parts fitted']).not.toContain('Elm Parts');
    must(made, '/setup supplier:shown', { role: 'steward' });
    expect(pageOf(made)['Parts fitted']).toContain('battery: copy, from Elm Parts');
    must(made, '/setup supplier:hidden', { role: 'steward' });
    expect(pageOf(made)['Parts fitted']).not.toContain('Elm Parts');
  });
});

describe('a job for someone who has not spoken here', () => {
  it('waits under the name until it is taken; nobody gets it by the name alone', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    expect(wordsOf(must(made, '/job hand name:Teo'))).toContain('has not spoken here yet');
    const held = () => jobData.parse(must(made, '/job 1').data).holder;
    expect(held()).toBe('Teo');
    // Somebody of that name speaks: the job is not theirs by that.
    must(made, '/job list', { as: 'Teo' });
    expect(made.store.jobs.listOpen({ holderKey: 'terminal:Teo' })).toEqual([]);
    expect(made.say('/job hand name:teo job:1', { role: 'steward' }).outcome).toBe('refused');
    must(made, '/job take job:1', { as: 'Teo' });
    expect(made.store.jobs.listOpen({ holderKey: 'terminal:Teo' })).toHaveLength(1);
  });
});
