import { describe, expect, it } from 'vitest';
import { hazards } from '../../knowledge/schema.ts';
import {
  allowedWhenCellUnsafe,
  barredWhenCellUnsafe,
  cardOf,
  cardsFor,
  cautionsInOrder,
  disposalAdvice,
  emergencyNumber,
  fullCaution,
  LOCAL_CODES,
} from '../../shared/safety/cautions.ts';
import { knowledge } from '../harness.ts';

const ids = (cards: readonly { id: string }[]) => cards.map(({ id }) => id);

describe('cards before a step', () => {
  it('fires a caution for every hazard there is', () => {
    for (const hazard of hazards) expect(cardsFor(knowledge(), [hazard], null), hazard).not.toEqual([]);
  });

  it('draws each caution once, danger first', () => {
    const cards = cardsFor(knowledge(), ['heats', 'pries', 'punctures', 'heats'], 'AU');
    expect(ids(cards)).toEqual(['prying-at-cell', 'heat']);
    const tones = cardsFor(knowledge(), hazards, 'AU').map(({ tone }) => tone);
    expect(tones).toEqual([...tones].sort((a, b) => (a === b ? 0 : a === 'danger' ? -1 : 1)));
  });

  it('is empty for a step without hazards', () => {
    expect(cardsFor(knowledge(), [], 'AU')).toEqual([]);
  });

  it('says on the first card that local codes come first, and on each where the whole of it is', () => {
    const cards = cardsFor(knowledge(), hazards, 'AU');
    expect(JSON.stringify(cards[0])).toContain(LOCAL_CODES);
    for (const { id, points } of cards) expect(points).toContain(`All of it: /caution ${id}`);
  });
});

describe('by region', () => {
  it.each([
    ['AU', '000'],
    ['US-OR', '911'],
    ['GB', '999'],
    ['DE', '112'], // a member of the EU: its single emergency number
    ['FR', '112'],
    [null, 'your local emergency number'],
    ['AQ', 'your local emergency number'],
  ])('%s calls %s', (region, number) => {
    expect(emergencyNumber(knowledge(), region)).toBe(number);
  });

  it('fills every placeholder, everywhere', () => {
    for (const region of ['AU', 'DE', 'US-OR', 'AQ', null]) {
      for (const caution of cautionsInOrder(knowledge())) {
        const all = JSON.stringify([
          fullCaution(knowledge(), caution, region),
          cardOf(knowledge(), caution, region),
        ]);
        expect(all).not.toMatch(/\{[a-z]+\}/);
      }
    }
  });

  it('has disposal for a place it does not know', () => {
    expect(disposalAdvice(knowledge(), 'AQ')).toBe(disposalAdvice(knowledge(), null));
    expect(disposalAdvice(knowledge(), 'IE')).toBe(knowledge().regions.dispose.EU);
  });
});

describe('every caution', () => {
  it.each(cautionsInOrder(knowledge()).map((caution) => [caution.id, caution] as const))(
    '%s says do, do not, stop when, get help, dispose, and that local codes come first',
    (_, caution) => {
      const { parts } = fullCaution(knowledge(), caution, 'AU');
      expect(parts.map(({ heading }) => heading)).toEqual([
        'Do',
        'Do not',
        'Stop when',
        'Get help',
        'Dispose',
      ]);
      for (const { says } of parts) expect(says.length).toBeGreaterThan(0);
      expect(JSON.stringify(parts)).toContain('Local codes and licensed practice come first');
    },
  );
});

describe('a cell that was found unsafe', () => {
  it.each([
    'charges',
    'presses',
    'heats',
    'pries',
    'punctures',
    'dissolves',
    'solders',
    'live-supply',
    'laser',
    'uv',
    'cuts',
    'inverted-gas',
    'freezes',
  ] as const)('bars a step that %s', (hazard) => {
    expect(barredWhenCellUnsafe).toContain(hazard);
    expect(allowedWhenCellUnsafe(['static', hazard])).toBe(false);
  });
  it('still lets one look', () => {
    expect(allowedWhenCellUnsafe([])).toBe(true);
    expect(allowedWhenCellUnsafe(['broken-glass', 'static'])).toBe(true);
  });
});
