/** Parts of the collective's own, from order to phone: by what `/shelf`, `/job`, `/trace` and `/worth` answer. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { shelfData } from '../../commands/shelf/options.ts';
import { must, mustRefuse } from '../must.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

const GOOD = 'ownership:shown lock:free stolen:clear data:purge';
function bench(): TestBot {
  const made = testBot();
  made.say('/family name model:"Orrin K3" as:glued-front-home-sensor new-price:400', { role: 'steward' });
  made.say('/family name model:"Orrin K4" as:glued-front-home-sensor new-price:500', { role: 'steward' });
  made.say('/family name model:"Vesper Loam" as:glued-back-under-display new-price:700', { role: 'steward' });
  return made;
}
const parts = (reply: Reply) => shelfData.parse(reply.data).parts;
const job = (reply: Reply) => jobData.parse(reply.data);

describe('a part', () => {
  it('goes from order to shelf to phone and back, and its price with it', () => {
    const made = bench();
    const ordered = must(
      made,
      '/shelf add battery of:"Orrin K3" grade:copy price:14 from:"market" due:2026-03-09',
    );
    expect(parts(ordered)).toMatchObject([{ part: 1, state: 'ordered', due: '2026-03-09', late: false }]);
    must(made, `/job open "Orrin K3" symptoms:"dead, no charge" ${GOOD}`);
    mustRefuse(made, '/shelf take 1 job:1', /still on order/);
    must(made, '/shelf arrived 1 place:"drawer B"');
    expect(wordsOf(must(made, '/shelf'))).toMatch(/drawer B/);
    const taken = must(made, '/shelf take 1 job:1');
    expect(taken.title).toContain('Part 1 is fitted in job 1');
    expect(job(must(made, '/job 1')).out).toEqual({ amount: '14.00', currency: 'AUD' });
    expect(wordsOf(must(made, '/job 1'))).toContain('part 1 of the shelf');
    expect(must(made, '/shelf').title).toBe('The shelf is empty');
    // Struck out one by one it would lie nowhere.
    const { entries } = job(must(made, '/job 1'));
    const fitted = entries.find(({ kind }) => kind === 'fitted');
    mustRefuse(made, `/job strike ${fitted?.seq} why:x job:1`, /Part 1 of the shelf is in this phone/);
    must(made, '/shelf back 1 place:"drawer C"');
    expect(job(must(made, '/job 1')).out.amount).toBe('0.00');
    expect(parts(must(made, '/shelf'))).toMatchObject([{ part: 1, state: 'here', place: 'drawer C' }]);
    must(made, '/shelf gone 1 why:"flex torn"');
    mustRefuse(made, '/shelf take 1 job:1', /is gone/);
    expect(wordsOf(must(made, '/shelf show 1'))).toMatch(
      /ordered[\s\S]*arrived, drawer B[\s\S]*fitted in job 1[\s\S]*taken out of job 1[\s\S]*gone: flex torn/,
    );
  });

  it('is got by one of two people who take the last one', () => {
    const made = bench();
    must(made, '/shelf add "display assembly" of:"Orrin K3" grade:used price:40');
    must(made, `/job open "Orrin K3" ${GOOD}`, { as: 'Wren' });
    must(made, `/job open "Orrin K3" ${GOOD}`, { as: 'Bram' });
    must(made, '/shelf take 1 job:2', { as: 'Bram' });
    mustRefuse(made, '/shelf take 1 job:1', /in the phone of job 2/, { as: 'Wren' });
    expect(job(must(made, '/job 1')).out.amount).toBe('0.00');
  });

  it('of another phone is refused, and so is one for a phone that may not be worked on', () => {
    const made = bench();
    must(made, '/shelf add battery of:"Vesper Loam" grade:copy price:14');
    must(made, '/shelf add battery of:"Orrin K4" grade:copy price:14');
    must(made, '/shelf add battery of:glued-front-home-sensor grade:copy price:14');
    must(made, `/job open "Orrin K3" ${GOOD}`);
    mustRefuse(made, '/shelf take 1 job:1', /of another phone: Vesper Loam/);
    mustRefuse(made, '/shelf take 2 job:1', /of another phone: Orrin K4/);
    must(made, '/shelf take 3 job:1');
    must(made, '/shelf back 3');
    must(made, '/job open "Orrin K3"');
    mustRefuse(made, '/shelf take 3 job:2', /waits for an answer/);
    must(made, `/job open "Orrin K3" symptoms:swollen ${GOOD}`);
    mustRefuse(made, '/shelf take 3 job:3', /cell may be dangerous/);
    mustRefuse(made, '/shelf add "hinge assembly" of:"Orrin K3" grade:copy', /has no hinge/);
    mustRefuse(made, '/shelf take 9 job:1', /no part 9/);
    mustRefuse(made, '/shelf add battery of:"Orrin K3" grade:copy', /for members/, { role: 'visitor' });
  });

  it('out of a stripped phone lies on the shelf, with what is tied to its board said; a reopened job takes it back', () => {
    const made = bench();
    must(made, `/job open "Orrin K3" ${GOOD}`);
    must(made, '/job answer data:destroy');
    must(made, '/job finish stripped parts:"fingerprint sensor, speaker"');
    const kept = parts(must(made, '/shelf'));
    expect(kept).toMatchObject([
      { component: 'fingerprint-sensor', donor: 1, paired: true, price: null, grade: 'used' },
      { component: 'speaker', donor: 1, paired: false },
    ]);
    expect(wordsOf(must(made, '/shelf'))).toContain('tied to its old board');
    must(made, '/job reopen "not yet" job:1');
    expect(must(made, '/shelf').title).toBe('The shelf is empty');
  });

  it('that is late or low is shown', () => {
    const made = bench();
    must(made, '/shelf add battery of:"Orrin K3" grade:copy price:14 due:2026-03-09');
    must(made, '/shelf least battery of:"Orrin K3" least:2');
    const now = wordsOf(must(made, '/shelf'));
    expect(now).toContain('0 here, 1 on order, 2 wanted');
    expect(now).not.toContain('it was due');
    const later = must(made, '/shelf', { now: new Date('2026-03-11T09:00:00Z') });
    expect(later.title).toContain('1 of them late');
    expect(wordsOf(later)).toContain('late: it was due on 2026-03-09');
    must(made, '/shelf add battery of:"Orrin K3" grade:copy price:14 count:2');
    expect(wordsOf(must(made, '/shelf'))).not.toContain('Running low');
    expect(wordsOf(must(made, '/shelf list speaker'))).toContain('No speaker on the shelf');
  });

  it('that lies there is what verdicts and traces reckon with', () => {
    const made = bench();
    must(made, '/prices add "Orrin K3" price:140 condition:fair');
    const means = z.object({
      ways: z.array(z.object({ way: z.string(), mean: z.object({ amount: z.coerce.number() }) })),
    });
    const value = (reply: Reply): number =>
      Math.max(...means.parse(reply.data).ways.map(({ mean }) => mean.amount));
    const ask = '/worth "Orrin K3" price:10 symptoms:"dead, no charge"';
    const before = value(must(made, ask));
    must(made, '/shelf add battery of:"Orrin K3" grade:original price:1');
    expect(value(must(made, ask))).toBeGreaterThan(before);
    // One that is tied to its old board, or of another model, is not reckoned with.
    const known = value(must(made, ask));
    must(made, '/shelf add battery of:"Orrin K4" grade:original price:0');
    expect(value(must(made, ask))).toBe(known);
  });

  it('is offered in one tap where the trace proposes it, and is not logged twice', () => {
    const made = bench();
    for (const part of ['display assembly', 'front glass'])
      for (const grade of ['original', 'copy', 'used', 'refurbished'])
        made.say(`/shelf add "${part}" of:"Orrin K3" grade:${grade} price:3 place:"drawer B"`);
    must(made, '/prices add "Orrin K3" price:240 condition:fair');
    must(made, `/job open "Orrin K3" symptoms:"cracked front glass" ${GOOD}`);
    let reply = must(made, '/trace start job:1');
    for (let turn = 0; turn < 9; turn += 1) {
      if (reply.choices.some(({ invoke }) => invoke.command === 'shelf')) break;
      const { options, action } = reply.choices.find(({ aside }) => !aside)?.invoke ?? {};
      const given = Object.entries(options ?? {}).map(([name, said]) => `${name}:"${said}"`);
      reply = must(made, `/trace ${action} ${given.join(' ')}`);
    }
    const fit = reply.choices.find(({ invoke }) => invoke.command === 'shelf');
    expect(fit?.label).toMatch(/^Fit (display assembly|front glass), part \d: \w+, AUD 3.00, drawer B$/);
    expect(wordsOf(reply)).toContain('on the shelf');
    must(made, `/shelf take ${fit?.invoke.options.part} job:1`);
    const works = must(made, '/trace answer says:works');
    expect(works.choices.map(({ label }) => label).join()).not.toMatch(/Log it: (display|front)/);
    expect(job(must(made, '/job 1')).out.amount).toBe('3.00');
  });
});

describe('a life of moves', () => {
  it('adds up: every part is in one place, and each job has spent what its parts cost', () => {
    const step = fc.record({
      what: fc.constantFrom('add', 'order', 'arrived', 'take', 'back', 'gone', 'strip'),
      part: fc.integer({ min: 1, max: 6 }),
      job: fc.integer({ min: 1, max: 3 }),
      price: fc.integer({ min: 0, max: 5000 }),
    });
    fc.assert(
      fc.property(fc.array(step, { minLength: 1, maxLength: 14 }), (steps) => {
        const made = bench();
        for (const _ of [1, 2, 3]) must(made, `/job open "Orrin K3" ${GOOD}`);
        let added = 0;
        for (const { what, part, job: number, price } of steps) {
          const of = 'of:"Orrin K3" grade:copy';
          const paid = (price / 100).toFixed(2);
          const line = {
            add: `/shelf add battery ${of} price:${paid}`,
            order: `/shelf add speaker ${of} price:${paid} due:2026-03-09`,
            arrived: `/shelf arrived ${part}`,
            take: `/shelf take ${part} job:${number}`,
            back: `/shelf back ${part}`,
            gone: `/shelf gone ${part} why:x`,
            strip: `/shelf take ${part} job:${number}`,
          }[what];
          const reply = made.say(line);
          if (reply.outcome === 'answered' && (what === 'add' || what === 'order')) added += 1;
        }
        const all = made.store.shelf.list();
        expect(all).toHaveLength(added);
        for (const number of [1, 2, 3]) {
          const inPhone = all.filter((part) => part.job === number);
          const cost = inPhone.reduce((sum, { price }) => sum + (price?.minor ?? 0), 0);
          const { out, entries } = job(must(made, `/job ${number}`));
          expect(Math.round(Number(out.amount) * 100)).toBe(cost);
          expect(entries.filter(({ kind, struck }) => kind === 'fitted' && !struck)).toHaveLength(
            inPhone.length,
          );
        }
        // The last move of each says where it is.
        for (const { number, state } of all) {
          const last = made.store.shelf.moves(number).at(-1)?.move.kind;
          const at = {
            ordered: ['ordered'],
            here: ['added', 'arrived', 'back'],
            fitted: ['taken'],
            gone: ['gone'],
          }[state];
          expect(at).toContain(last);
        }
      }),
      { numRuns: 25 },
    );
  });
});
