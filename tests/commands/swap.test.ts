import { describe, expect, it } from 'vitest';
import { pairedDataSchema } from '../../commands/paired/paired-data.ts';
import { swapData } from '../../commands/swap/reply.ts';
import { must, mustRefuse } from '../must.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

function tinShed(): TestBot {
  const made = testBot();
  made.say('/family name model:"Orrin K3" as:glued-front-home-sensor', { role: 'steward' });
  return made;
}
function counted(made: TestBot, component: string) {
  const data = pairedDataSchema.parse(must(made, `/paired "Orrin K3" component:"${component}"`).data);
  if (data.kind !== 'component') throw new Error('not a component');
  return data;
}

describe('/swap', () => {
  it('keeps a report, and /paired counts it beside the pack: Beta(likely x strength + seen, ...)', () => {
    const made = tinShed();
    const before = counted(made, 'fingerprint sensor').counted.find(({ effect }) => effect === 'lost');
    const statement = counted(made, 'fingerprint sensor').statements.find(({ effect }) => effect === 'lost');
    if (!before || !statement) throw new Error('the pack says nothing of the home sensor');
    expect(before).toMatchObject({ seen: 0, tried: 0 });
    expect(before.chance).toBeCloseTo(statement.likely, 12);
    must(made, '/swap "fingerprint sensor" effect:lost of:"Orrin K3" grade:used');
    must(made, '/swap "fingerprint sensor" effect:free of:"Orrin K3" grade:used', { as: 'Wren' });
    const after = counted(made, 'fingerprint sensor').counted.find(({ effect }) => effect === 'lost');
    expect(after).toMatchObject({ seen: 1, tried: 2 });
    expect(after?.chance).toBeCloseTo(
      (statement.likely * statement.strength + 1) / (statement.strength + 2),
      12,
    );
  });

  it('shows both and the conflict, never an average alone, and says who saw it and when', () => {
    const made = tinShed();
    for (const as of ['Ines', 'Wren', 'Bram'])
      must(made, '/swap "fingerprint sensor" effect:free of:"Orrin K3" grade:used saw:"opens as before"', {
        as,
      });
    const reply = must(made, '/paired "Orrin K3" component:"fingerprint sensor"');
    const words = wordsOf(reply);
    expect(words).toContain('0 of 3 swaps reported here; the pack says');
    expect(words).toContain('They do not agree');
    expect(words).toMatch(
      /2026-03-02, Wren: fingerprint sensor, used, on another board: keeps everything; saw: opens as before/,
    );
  });

  it('shows an effect that the pack does not name', () => {
    const made = tinShed();
    must(made, '/swap speaker effect:notice of:"Orrin K3" grade:copy');
    expect(counted(made, 'speaker').counted.find(({ effect }) => effect === 'notice')).toMatchObject({
      pack: null,
      seen: 1,
      tried: 1,
      chance: 0.75,
    });
  });

  it('does not count a component that went back on its own board', () => {
    const made = tinShed();
    must(made, '/swap "fingerprint sensor" effect:free of:"Orrin K3" grade:used board:same');
    expect(counted(made, 'fingerprint sensor').counted.every(({ tried }) => tried === 0)).toBe(true);
    expect(counted(made, 'fingerprint sensor').reports).toHaveLength(1);
  });

  it('takes phone and grade from a job', () => {
    const made = tinShed();
    must(made, '/job open "Orrin K3" ownership:shown lock:free stolen:clear');
    must(made, '/job log fitted:battery grade:refurbished');
    const { swaps } = swapData.parse(must(made, '/swap battery effect:free job:1').data);
    expect(swaps[0]).toMatchObject({ grade: 'refurbished', model: 'Orrin K3' });
  });

  it('is set aside by a steward alone: shown with the reason, and counted no more', () => {
    const made = tinShed();
    must(made, '/swap "fingerprint sensor" effect:free of:"Orrin K3" grade:used');
    mustRefuse(made, '/swap aside 1 why:"bad part"', 'not-allowed');
    mustRefuse(made, '/swap aside 9 why:"bad part"', 'not-found', { role: 'steward' });
    must(made, '/swap aside 1 why:"the part was faulty"', { as: 'Bram', role: 'steward' });
    expect(counted(made, 'fingerprint sensor').counted.every(({ tried }) => tried === 0)).toBe(true);
    expect(wordsOf(must(made, '/swap list'))).toContain('set aside by Bram: the part was faulty');
    mustRefuse(made, '/swap aside 1 why:again', 'wrong-state', { role: 'steward' });
  });

  it('refuses what is not whole', () => {
    const made = tinShed();
    mustRefuse(made, '/swap battery effect:free grade:used', 'missing-option');
    mustRefuse(made, '/swap battery effect:free of:"Orrin K3"', 'missing-option');
    mustRefuse(made, '/swap hinge-assembly effect:free of:"Orrin K3" grade:used', 'bad-option');
    mustRefuse(made, '/swap battery effect:odd of:"Orrin K3" grade:used', 'bad-option');
    mustRefuse(made, '/swap battery effect:free of:"Orrin K3" grade:used', 'not-allowed', {
      role: 'visitor',
    });
    expect(must(made, '/swap list').title).toBe('No swap report yet');
  });
});
