/** What a pack lacks: pairs that no check parts, against plain enumeration, and the pack that comes with the bot. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  closedFamilies,
  MOST_OVERLAP,
  overlapOf,
  unasked,
  unevenRows,
  unnamed,
  unparted,
  withoutOwnMinutes,
} from '../../knowledge/gaps.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import {
  classShares,
  divergence,
  readRepairEvents,
  sayable,
  stillUnsaid,
} from '../../knowledge/repair-events.ts';
import { lexiconOf } from '../../shared/words/lexicon.ts';
import { offered, readSentence } from '../../shared/words/read-sentence.ts';

const knowledge = loadKnowledge();
function got<T>(map: ReadonlyMap<string, T>, id: string): T {
  const found = map.get(id);
  if (!found) throw new Error(`no ${id}`);
  return found;
}
const without = <T>(map: ReadonlyMap<string, T>, id: string): Map<string, T> =>
  new Map([...map].filter(([key]) => key !== id));

describe('the overlap of two faults', () => {
  const row = fc
    .array(fc.integer({ min: 0, max: 9 }), { minLength: 3, maxLength: 3 })
    .filter((parts) => parts.some((one) => one > 0))
    .map((parts) => {
      const sum = parts.reduce((total, one) => total + one, 0);
      return parts.map((one) => one / sum);
    });
  it('is the sum of the smaller chance over all ways the checks can come out', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(row, row), { minLength: 0, maxLength: 4 }), (pairs) => {
        let plain = 0;
        const walk = (at: number, p: number, q: number): void => {
          const pair = pairs[at];
          if (!pair) plain += Math.min(p, q);
          else for (const [o, chance] of pair[0].entries()) walk(at + 1, p * chance, q * (pair[1][o] ?? 0));
        };
        walk(0, 1, 1);
        expect(overlapOf(pairs)).toBeCloseTo(plain, 2);
      }),
      { numRuns: 200 },
    );
  });
  it('is 1 for rows that say the same, 0 for rows that never do', () => {
    expect(
      overlapOf([
        [
          [0.2, 0.8],
          [0.2, 0.8],
        ],
      ]),
    ).toBeCloseTo(1, 12);
    expect(
      overlapOf([
        [
          [1, 0],
          [0, 1],
        ],
      ]),
    ).toBe(0);
    expect(overlapOf([])).toBe(1);
  });
});

describe('the pack that comes with the bot', () => {
  it('parts any two faults of a family by more than half, or says why not', () => {
    expect(unparted(knowledge).filter(({ because }) => because === null)).toEqual([]);
  });
  it('would be seen not to: without the look at the back two faults are one', () => {
    const blind = { ...knowledge, checks: without(knowledge.checks, 'back-look') };
    const found = unparted(blind);
    expect(found.map(({ faults }) => faults.join(' '))).toContain('clock-lost back-cracked');
    for (const { overlap } of found) expect(overlap).toBeGreaterThan(MOST_OVERLAP);
  });
  it('lists outcomes from nothing wrong to most wrong: rows are parts of a noisy-MAX, but for parts that are tried or reseated', () => {
    const uneven = unevenRows(knowledge).filter(({ fall }) => fall > 0.07);
    expect(new Set(uneven.map(({ check }) => check))).toEqual(
      // A start, a picture or a charge is what a repair brings, and not what a fault does: two faults make it rarer, not oftener.
      new Set(['long-charge', 'reseat-cell', 'reseat-display', 'test-port-board']),
    );
    const current = got(knowledge.checks, 'charge-current');
    const turned = {
      ...current,
      given: {
        otherwise: current.given.otherwise.toReversed(),
        faults: Object.fromEntries(
          Object.entries(current.given.faults).map(([id, row]) => [id, row.toReversed()]),
        ),
      },
    };
    const odd = { ...knowledge, checks: new Map(knowledge.checks).set(current.id, turned) };
    expect(unevenRows(odd).filter(({ check }) => check === 'charge-current').length).toBeGreaterThan(15);
  });
  it('asks each of its checks for something', () => {
    expect(unasked(knowledge)).toEqual([]);
    const idle = got(knowledge.checks, 'coil-ohm');
    const rows = { ...idle, given: { ...idle.given, faults: { 'hinge-worn': [0.1, 0.9] } } };
    const odd = { ...knowledge, checks: new Map(knowledge.checks).set(idle.id, { ...rows, with: ['lcd'] }) };
    expect(unasked(odd)).toEqual(['coil-ohm']);
  });
  it('has words of people for each of its symptoms', () => {
    expect(unnamed(knowledge)).toEqual([]);
    const { slow: _, ...symptoms } = knowledge.wordRules.symptoms;
    const silent = { ...knowledge, wordRules: { ...knowledge.wordRules, symptoms } };
    expect(unnamed(silent)).toEqual(['slow']);
    expect(sayable(silent, readRepairEvents())).toMatchObject({ without: ['performance'] });
  });
  it('opens each of its families', () => {
    expect(closedFamilies(knowledge)).toEqual([]);
    const family = got(knowledge.families, 'fold-book');
    const shut = { ...family, features: ['folds'] };
    expect(closedFamilies({ ...knowledge, families: new Map([[shut.id, shut]]) })).toEqual(['fold-book']);
  });
  it('says which remedies take as long in every family', () => {
    const found = withoutOwnMinutes(knowledge).map(({ remedy }) => remedy);
    expect(found).toContain('new-earpiece');
    expect(found).not.toContain('new-cell');
  });
});

describe('beside what is brought to repair events', () => {
  const events = readRepairEvents();
  it('the shares of the pack lie near the counts', () => {
    const shares = classShares(knowledge, events);
    expect(shares.reduce((sum, { counted }) => sum + counted, 0)).toBeCloseTo(1, 12);
    expect(shares.reduce((sum, { pack }) => sum + pack, 0)).toBeCloseTo(1, 9);
    expect(divergence(shares)).toBeLessThan(0.08);
    expect(divergence(classShares(knowledge, events, 'glued-front-home-sensor'))).toBeLessThan(0.08);
  });
  it('the counts are those of the records: all of them, and those that name a defect', () => {
    const sum = (list: readonly { n: number }[]) => list.reduce((total, { n }) => total + n, 0);
    expect(sum(events.classes)).toBe(1916);
    expect(sum(events.classes.filter(({ id }) => id !== 'other' && id !== 'unknown'))).toBe(1426);
  });
  it('a pack that is far off is seen: with thirty times the weight on the back cover', () => {
    const back = got(knowledge.faults, 'back-cracked');
    const faults = new Map(knowledge.faults).set(back.id, { ...back, weight: back.weight * 30 });
    expect(divergence(classShares({ ...knowledge, faults }, events))).toBeGreaterThan(0.2);
  });
  it('has a name for at least 95 % of the records, and for what once could not be said', () => {
    expect(sayable(knowledge, events).share).toBeGreaterThanOrEqual(0.95);
    expect(stillUnsaid(knowledge, events)).toEqual([]);
  });
  it('reads sentences of each class as one of its names', () => {
    const lexicon = lexiconOf(knowledge);
    const wrong = [...events.classes, ...events['once-unsaid'].kinds].flatMap(({ said, how }) =>
      how.flatMap((text) => {
        const reading = readSentence(lexicon, text, { language: 'en' });
        const read = offered(reading).map(({ kind, id }) => (kind === 'damage' ? `damage:${id}` : id));
        return read.some((id) => said.includes(id)) ? [] : [`${text}: ${read.join(', ')}`];
      }),
    );
    expect(wrong).toEqual([]);
  });
});
