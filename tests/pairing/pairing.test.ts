import { describe, expect, it } from 'vitest';
import { pairingOf, pairingTable } from '../../shared/pairing/pairing.ts';
import { knowledge } from '../test-bot.ts';

const familyWith = (...features: string[]) => {
  const family = [...knowledge().families.values()].find((one) =>
    features.every((feature) => one.features.includes(feature)),
  );
  if (!family) throw new Error(`no family has ${features.join(', ')}`);
  return family;
};

describe('pairing of a component in a family', () => {
  it('a strange solid-state home sensor loses fingerprint and button, and travels with the board', () => {
    const found = pairingOf(knowledge(), familyWith('home-sensor'), 'fingerprint-sensor');
    expect(found).toMatchObject({ effect: 'lost', travels: true });
    expect(found.statements[0]?.loses).toMatch(/fingerprint and the home button/);
  });

  it('uses only statements whose features the family has, all of them', () => {
    for (const family of knowledge().families.values()) {
      for (const { statements } of pairingTable(knowledge(), family)) {
        for (const { when } of statements) expect(family.features).toEqual(expect.arrayContaining(when));
      }
    }
    const plain = familyWith('mechanical-keys');
    expect(pairingOf(knowledge(), plain, 'display-assembly').statements).toEqual([]);
  });

  it('claims nothing where there is no statement', () => {
    expect(pairingOf(knowledge(), familyWith('home-sensor'), 'speaker')).toEqual({
      component: 'speaker',
      statements: [],
      effect: null,
      worst: null,
      travels: false,
      sourced: false,
    });
  });

  it('keeps statements that disagree apart, likeliest first, and names the gravest', () => {
    const found = pairingOf(knowledge(), familyWith('side-sensor'), 'fingerprint-sensor');
    expect(found.statements.map(({ effect }) => effect)).toEqual(['calibrate', 'lost']);
    expect(found).toMatchObject({ effect: 'calibrate', worst: 'lost' });
  });

  it('has one row for each component of the family, what travels first', () => {
    const family = familyWith('face-unit');
    const table = pairingTable(knowledge(), family);
    expect(table.map(({ component }) => component).sort()).toEqual(Object.keys(family.components).sort());
    const travels = table.map((row) => row.travels);
    expect(travels).toEqual([...travels].sort((a, b) => Number(b) - Number(a)));
    expect(travels[0]).toBe(true);
  });
});
