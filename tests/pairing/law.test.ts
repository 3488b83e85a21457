import { describe, expect, it } from 'vitest';
import { lawFor } from '../../shared/pairing/law.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { knowledge } from '../test-bot.ts';

const law = (region: string | null, on: string, topic?: Parameters<typeof lawFor>[3]) => {
  const { inForce, toCome, undated, hint } = lawFor(knowledge(), region, new Date(`${on}T12:00:00Z`), topic);
  const ids = (laws: readonly { id: string }[]) => laws.map(({ id }) => id);
  return { inForce: ids(inForce), toCome: ids(toCome), undated: ids(undated), hint };
};

describe('law by region and date', () => {
  // Regulation (EU) 2023/1670, article 10: applies from 20 June 2025.
  it.each(['DE', 'FR', 'EU', 'FR-IDF'])(
    'the EU rule on serialised parts reaches %s from 20 June 2025',
    (region) => {
      expect(law(region, '2025-06-19', 'pairing').toCome).toEqual(['eu-serialised-parts']);
      expect(law(region, '2025-06-20', 'pairing').inForce).toEqual(['eu-serialised-parts']);
    },
  );

  it('does not reach places outside the EU', () => {
    for (const region of ['GB', 'AU', 'US', 'CH', 'NO'])
      expect(law(region, '2026-03-02').inForce.filter((id) => id.startsWith('eu-'))).toEqual([]);
  });

  // The Windsor Framework, as a committee of the UK Parliament reports: Regulation (EU) 2023/1670 applies there.
  it('finds the EU rules on phones in Northern Ireland, and no other EU law', () => {
    const found = law('GB-NIR', '2026-03-02').inForce.filter((id) => id.startsWith('eu-'));
    expect(found.sort()).toEqual(['eu-battery-life', 'eu-index', 'eu-serialised-parts', 'eu-spare-parts']);
  });

  // Oregon SB 1596: in force 1 January 2025. Colorado HB24-1121: from 1 January 2026.
  it('finds the law of one state only in that state', () => {
    expect(law('US-OR', '2024-12-31', 'pairing').inForce).toEqual([]);
    expect(law('US-OR', '2025-01-01', 'pairing').inForce).toEqual(['us-or-pairing']);
    expect(law('US-CO', '2025-12-31', 'pairing').toCome).toEqual(['us-co-pairing']);
    expect(law('US-CO', '2026-01-01', 'pairing').inForce).toEqual(['us-co-pairing']);
  });

  it('asks for the state where the law differs by state', () => {
    expect(law('US', '2026-03-02', 'pairing').inForce).toEqual([]);
    expect(law('US', '2026-03-02', 'pairing').hint).toMatchObject({
      set: 'state',
      region: 'US',
      example: expect.stringMatching(/^US-/),
    });
    expect(law('US-OR', '2026-03-02', 'pairing').hint).toBeNull();
  });

  it('gives no law and a hint while the region is not set', () => {
    expect(law(null, '2026-03-02')).toEqual({
      inForce: [],
      toCome: [],
      undated: [],
      hint: { set: 'region' },
    });
  });

  it('leaves out what has ended, and does not claim that an undated law is in force', () => {
    expect(law('FR', '2025-06-26', 'index').inForce).toContain('fr-index');
    expect(law('FR', '2025-06-27', 'index').inForce).not.toContain('fr-index');
    expect(law('NO', '2026-03-02', 'parts')).toMatchObject({ inForce: [], undated: ['eea-ecodesign'] });
  });

  it('takes the day from the clock on the wall of the collective', () => {
    const instant = new Date('2027-02-17T13:30:00Z');
    expect(isoDateIn('UTC', instant)).toBe('2027-02-17');
    expect(isoDateIn('Australia/Sydney', instant)).toBe('2027-02-18'); // UTC+11 in summer
    const { inForce } = lawFor(knowledge(), 'DE', instant, 'battery', 'Australia/Sydney');
    expect(inForce.map(({ id }) => id)).toContain('eu-portable-batteries');
  });
});
