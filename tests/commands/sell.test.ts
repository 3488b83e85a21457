/** Offering a phone: the text says what is so, and a kept phone counts at its worth. Invented prices; no outside source. */
import { describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { jobListData } from '../../commands/job/list.ts';
import { weekData } from '../../commands/week/week-data.ts';
import { refusalOf, type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const GOOD = 'ownership:shown lock:free stolen:clear data:purge';

function bench(): TestBot {
  const made = testBot();
  made.say('/family name model:"Vesper Loam" as:glued-back-under-display new-price:700 launched:2022-03', {
    role: 'steward',
  });
  for (const price of [180, 165, 172])
    made.say(`/prices add "Vesper Loam" price:${price} how:sold condition:good`);
  return made;
}
function must(made: TestBot, line: string, how: Saying = {}): Reply {
  const reply = made.say(line, how);
  if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
  return reply;
}
const data = (reply: Reply) => jobData.parse(reply.data);
const textOf = (reply: Reply): string => reply.files.find(({ name }) => name.endsWith('.txt'))?.text ?? '';
const passAll = (made: TestBot, job = 1): void => {
  must(made, `/job test pass:"${data(must(made, `/job ${job}`)).untested.join(', ')}" job:${job}`);
};

describe('/job sell', () => {
  it('says the good and the bad, what is asked and what ones like it sell for, and nothing private', () => {
    const made = bench();
    must(
      made,
      `/job open "Vesper Loam" came:bought price:20 symptoms:"drains fast" imei:490154203237518 ${GOOD}`,
    );
    must(made, '/job log fitted:battery grade:copy out:14.10');
    must(made, '/job log oddity:"speaker rattles at full volume"');
    must(made, '/job log "Moss paid in cash" as:words');
    const early = must(made, '/job sell condition:good');
    expect(early.tone).toBe('caution');
    expect(textOf(early)).toMatch(/Not tested: .*display/);
    expect(data(early).listed).toBeNull();
    passAll(made);
    const sale = must(made, '/job sell price:150 condition:good');
    expect(sale.title).toBe('Job 1, Vesper Loam: offered for AUD 150.00');
    const text = textOf(sale);
    for (const said of [
      'It looks good.',
      'Another cell was fitted here: copy.',
      'Not original: battery.',
      'Water resistance is not assured',
      'speaker rattles at full volume',
      'Asked: AUD 150.00.',
    ])
      expect(text).toContain(said);
    expect(text).not.toMatch(/Ines|Moss|14\.10|20\.00|4901|7518/);
    const [, low, high] = /sell for AUD ([\d.]+) to AUD ([\d.]+) eight/.exec(text) ?? [];
    expect(Number(low)).toBeLessThan(172);
    expect(Number(high)).toBeGreaterThan(Number(low));
    expect(data(sale)).toMatchObject({ state: 'listed', listed: { asked: { amount: '150.00' } } });
    expect(wordsOf(must(made, '/job list'))).toContain('offered for AUD 150.00 since 2026-03-02');
    expect(jobListData.parse(must(made, '/job list').data).jobs[0]?.state).toBe('listed');
  });

  it('is taken off again, and refused for a phone that is held', () => {
    const made = bench();
    must(made, `/job open "Vesper Loam" ${GOOD}`);
    expect(refusalOf(made.say('/job sell off:yes'))?.code).toBe('wrong-state');
    must(made, '/job sell price:150');
    const off = must(made, '/job sell off:yes');
    expect(data(off).listed).toBeNull();
    expect(data(off).state).toBe('bench');
    must(made, '/job answer stolen:listed');
    expect(refusalOf(made.say('/job sell price:150'))?.code).toBe('wrong-state');
    must(made, `/job open "Vesper Loam" symptoms:swollen ${GOOD}`);
    expect(refusalOf(made.say('/job sell price:150 job:2'))?.code).toBe('unsafe');
  });

  it('a sold phone is said to be sold, a kept one has its worth, in the job and in the week', () => {
    const made = bench();
    for (const job of [1, 2, 3]) {
      must(made, `/job open "Vesper Loam" came:bought price:20 condition:good ${GOOD}`);
      passAll(made, job);
    }
    expect(refusalOf(made.say('/job finish restored page:seen sold:150 worth:90 job:1'))?.code).toBe(
      'bad-option',
    );
    must(made, '/job finish restored page:seen sold:150 job:1');
    expect(must(made, '/job 1').title).toContain('restored and sold');
    const kept = must(made, '/job finish restored page:seen kept:yes worth:90 job:2');
    expect(kept.title).toContain('kept here, worth AUD 90.00');
    expect(data(kept)).toMatchObject({ worth: { amount: '90.00' }, net: { amount: '70.00' } });
    // Without being told: what ones like it sell for.
    const guessed = data(must(made, '/job finish restored page:seen kept:yes job:3'));
    expect(Number(guessed.worth.amount)).toBeGreaterThan(100);
    expect(Number(guessed.net.amount)).toBeCloseTo(Number(guessed.worth.amount) - 20, 2);
    const week = weekData.parse(must(made, '/week preview 2026-W10').data);
    expect(Number(week.net.amount)).toBeCloseTo(150 + 90 + Number(guessed.worth.amount) - 60, 2);
    expect(wordsOf(must(made, '/week preview 2026-W10'))).toContain('kept, worth AUD 90.00');
  });
});
