import { describe, expect, it } from 'vitest';
import { hazards } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { render, renderAll } from '../../shared/language/render.ts';
import {
  cardOf,
  cardsFor,
  cautionsInOrder,
  disposalAdvice,
  emergencyNumber,
  fullCaution,
} from '../../shared/safety/cautions.ts';
import { knowledge } from '../test-bot.ts';

/** In English, which is what the pack says. */
const said = (message: Message): string => render(message, 'en');

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

  it('says on each card where the whole of it is, and has the line of its caution where one may stand for it', () => {
    const cards = cardsFor(knowledge(), hazards, 'AU');
    for (const { id, points, line, brief } of cards) {
      expect(points.map(said)).toContain(`All of it: /caution ${id}`);
      expect(line && said(line), id).toBe(knowledge().cautions.get(id)?.short);
      expect(brief, id).toBeUndefined();
    }
    expect(cards.filter(({ line }) => line === undefined).map(({ id }) => id)).toEqual([
      'swollen-cell',
      'liquid-damage',
    ]);
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
    expect(said(emergencyNumber(knowledge(), region))).toBe(number);
  });

  it.each([
    ['JP', '119', '119', '110'],
    ['BR', '193', '192', '190'],
    ['NO', '110', '113', '112'],
    ['DE', '112', '112', '112'],
    [null, 'your local emergency number', 'your local emergency number', 'your local emergency number'],
  ])('%s: fire %s, ambulance %s, police %s', (region, fire, ambulance, police) => {
    expect(said(emergencyNumber(knowledge(), region, 'fire'))).toBe(fire);
    expect(said(emergencyNumber(knowledge(), region, 'ambulance'))).toBe(ambulance);
    expect(said(emergencyNumber(knowledge(), region, 'police'))).toBe(police);
  });

  it('takes a service that a place does not name from the place around it', () => {
    expect(said(emergencyNumber(knowledge(), 'AT', 'poison'))).toBe('01 406 43 43');
    expect(said(emergencyNumber(knowledge(), 'AT', 'fire'))).toBe('112');
    expect(said(emergencyNumber(knowledge(), 'DE', 'poison'))).toBe('your local poison line');
  });

  it('fills every placeholder, everywhere', () => {
    for (const region of ['AU', 'BR', 'DE', 'US-OR', 'AQ', null]) {
      for (const caution of cautionsInOrder(knowledge())) {
        const all = JSON.stringify(
          renderAll([fullCaution(knowledge(), caution, region), cardOf(knowledge(), caution, region)], {
            locale: 'en',
          }),
        );
        expect(all).not.toMatch(/\{[a-z]+\}/);
      }
    }
  });

  it('has disposal for a place it does not know', () => {
    expect(said(disposalAdvice(knowledge(), 'AQ'))).toBe(said(disposalAdvice(knowledge(), null)));
    expect(said(disposalAdvice(knowledge(), 'IE'))).toBe(knowledge().regions.dispose.EU);
  });
});

describe('every caution', () => {
  it.each(cautionsInOrder(knowledge()).map((caution) => [caution.id, caution] as const))(
    '%s says do, do not, stop when, get help, dispose, and that local codes come first',
    (_, caution) => {
      const { parts } = fullCaution(knowledge(), caution, 'AU');
      expect(parts.map(({ heading }) => said(heading))).toEqual([
        'Do',
        'Do not',
        'Stop when',
        'Get help',
        'Dispose',
      ]);
      for (const { says } of parts) expect(says.length).toBeGreaterThan(0);
      expect(JSON.stringify(renderAll(parts, { locale: 'en' }))).toContain(
        'Local codes and licensed practice come first',
      );
    },
  );
});

describe('a caution that is repeated', () => {
  it('is one line of 110 characters with the stop condition, and in full for a suspect cell and for liquid', () => {
    for (const { id, short, neverShort } of cautionsInOrder(knowledge())) {
      expect(neverShort, id).toBe(['swollen-cell', 'hot-or-smoking-cell', 'liquid-damage'].includes(id));
      if (neverShort) expect(short, id).toBeUndefined();
      else expect(short, id).toMatch(/^(?=.*\bstop\b).{1,110}$/);
    }
  });
});
