/** What is known to be wrong costs: a sample of what `tests/bench/monotone.ts` walks whole. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { loadKnowledge } from '../../knowledge/load.ts';
import { beliefOf } from '../../shared/diagnosis/sets/bench-belief.ts';
import { monotone, sharedCauses } from '../bench/monotone.ts';

const knowledge = loadKnowledge();
const families = [...knowledge.families.values()];

describe('the shipped pack', () => {
  it('makes no phone worth more by one more thing known to be wrong with it', () => {
    const { pairs, violations } = monotone(knowledge, families, (pair) => pair % 251 === 7);
    expect(violations).toEqual([]);
    expect(pairs).toBeGreaterThan(100);
  }, 240_000);

  it('would show a rise: a complaint that says, and hides, that it is the cheapest fault', () => {
    const symptoms = new Map(knowledge.symptoms);
    const quiet = symptoms.get('no-vibration');
    const family = knowledge.families.get('glued-front-home-sensor');
    if (!quiet || !family) throw new Error('the pack has lost what this test is about');
    // No cause shows it clearly, but hardly anything else shows it at all.
    symptoms.set('no-vibration', { ...quiet, seen: { otherwise: 1e-7, faults: { 'port-dirt': 0.009 } } });
    const only = (_: number, of: string, more: string) => of === 'no-charge' && more === 'no-vibration';
    expect(monotone({ ...knowledge, symptoms }, [family], only).violations).toHaveLength(1);
  }, 120_000);

  it('knows a cause that two symptoms share', () => {
    const of = (id: string) => {
      const found = knowledge.symptoms.get(id);
      if (!found) throw new Error(`no symptom ${id}`);
      return found;
    };
    expect(sharedCauses(of('dead'), of('no-charge'))).toContain('battery-open');
    expect(sharedCauses(of('no-vibration'), of('camera-black'))).toEqual([]);
  });
});

describe('what is said of it', () => {
  const [family] = families;
  const checks = [...knowledge.checks.values()].filter(
    ({ when }) => when?.power && !when.power.includes('dead'),
  );
  it('moves nothing where it cannot tell: checks of a running phone, on a dead one', () => {
    if (!family) throw new Error('no family');
    const dead = { kind: 'shown', id: 'dead' } as const;
    const before = beliefOf({ knowledge, family, events: [dead] });
    fc.assert(
      fc.property(fc.constantFrom(...checks), fc.nat(), (check, at) => {
        const outcome = check.outcomes[at % check.outcomes.length]?.id ?? '';
        const after = beliefOf({
          knowledge,
          family,
          events: [dead, { kind: 'check', id: check.id, outcome }],
        });
        expect(after?.idle).toHaveLength(1);
        after?.odds.forEach(({ fault, share }, place) => {
          expect(fault.id).toBe(before?.odds[place]?.fault.id);
          expect(share).toBeCloseTo(before?.odds[place]?.share ?? -1, 12);
        });
      }),
      { numRuns: 60 },
    );
  });
});

describe('what happened to it', () => {
  it.each([
    ['opened-before', 'no-service', 'antenna-loose'],
    ['opened-before', 'fingerprint-fails', 'fingerprint-strange'],
    ['strange-part', 'fingerprint-fails', 'fingerprint-strange'],
    ['wet-long-ago', 'dead', 'board-corrosion'],
    ['old-phone', 'wrong-date', 'clock-lost'],
    ['old-phone', 'drains-fast', 'battery-worn'],
  ])('%s raises, with %s, %s', (history, symptom, fault) => {
    let tried = 0;
    for (const one of families) {
      const share = (events: readonly string[]) =>
        beliefOf({
          knowledge,
          family: one,
          events: events.map((id) => ({ kind: 'shown', id }) as const),
        })?.odds.find(({ fault: { id } }) => id === fault)?.share;
      const before = share([symptom]);
      if (before === undefined || before > 0.9) continue;
      tried++;
      expect(share([symptom, history]), one.id).toBeGreaterThan(before);
    }
    expect(tried).toBeGreaterThan(0);
  });
});
