/** A covering part of the walk through every step that the bot may ask; `tests/bench/danger.ts` walks all of it. */
import { describe, expect, it } from 'vitest';
import { loadKnowledge } from '../../knowledge/load.ts';
import type { Check } from '../../knowledge/schema.ts';
import { pairsOf, walk } from './walk.ts';

const knowledge = loadKnowledge();
const pairs = pairsOf(knowledge);

describe('no step', () => {
  // Every family, and every symptom, in pairs that change along the list.
  const covering = [
    ...[...knowledge.families.values()].map((family, index) => {
      const own = pairs.filter((pair) => pair.family.id === family.id);
      return own[(index * 7) % own.length];
    }),
    ...[...knowledge.symptoms.values()].map((symptom, index) => {
      const own = pairs.filter((pair) => pair.symptom.id === symptom.id);
      return own[(index * 5) % own.length];
    }),
  ].flatMap((pair) => (pair ? [pair] : []));
  it('charges or powers a wet phone, touches a suspect cell, or comes without its caution', {
    timeout: 600_000,
  }, () => {
    let states = 0;
    const violations: string[] = [];
    for (const { family, symptom } of covering) {
      const walked = walk(knowledge, family, [symptom.id]);
      states += walked.states;
      violations.push(...walked.violations);
    }
    expect(violations).toEqual([]);
    expect(states).toBeGreaterThan(20_000);
  });
  it('would be missed: the walk sees a charge, a start and a remedy that a wet phone must not have', {
    timeout: 600_000,
  }, () => {
    const family = knowledge.families.get('glued-front-home-sensor');
    if (!family) throw new Error('no family');
    const dry = { ...knowledge, symptoms: new Map(knowledge.symptoms) };
    // A pack in which a wet port counts for nothing: the wet state never comes, and nothing is barred.
    const forgetful = {
      ...dry,
      checks: new Map(
        [...dry.checks].map(([id, check]): [string, Check] => [id, { ...check, hazards: [], powers: false }]),
      ),
    };
    expect(walk(forgetful, family, ['got-wet', 'dead']).violations.join()).toMatch(/words put current/);
  });
});
