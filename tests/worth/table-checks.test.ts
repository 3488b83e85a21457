import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Answers, type Table, tableChecks } from '../../shared/worth/table-checks.ts';

/** Independent faults, each taking an amount off the highest price; a check shows one of them, or not at all. */
interface Fault {
  id: string;
  chance: number;
  takes: number;
}
interface Check {
  id: string;
  shows: string;
  minutes?: number;
  /** Chance to see the fault where it is, and where it is not. */
  sees?: number;
  slips?: number;
}
function table(faults: readonly Fault[], checks: readonly Check[], sound = 100): Table {
  const belief = ({ id, chance }: Fault, answers: Answers): number => {
    let [is, not] = [chance, 1 - chance];
    for (const { id: check, shows, sees = 1, slips = 0 } of checks) {
      const answer = answers.get(check);
      if (shows !== id || answer === undefined) continue;
      is *= answer === 'bad' ? sees : 1 - sees;
      not *= answer === 'bad' ? slips : 1 - slips;
    }
    return is + not > 0 ? is / (is + not) : 0;
  };
  return {
    after: (answers) => {
      const left = sound - faults.reduce((sum, fault) => sum + belief(fault, answers) * fault.takes, 0);
      return {
        highest: left > 0 ? left : null,
        checks: checks
          .filter(({ id }) => !answers.has(id))
          .map(({ id, shows, minutes = 1, sees = 1, slips = 0 }) => {
            const fault = faults.find((one) => one.id === shows);
            const is = fault ? belief(fault, answers) : 0;
            const bad = is * sees + (1 - is) * slips;
            return {
              id,
              minutes,
              outcomes: [
                { id: 'bad', chance: bad },
                { id: 'good', chance: 1 - bad },
              ],
            };
          }),
      };
    },
  };
}
const none: Answers = new Map();
const asked = { price: 60, unit: 0.01 };

describe('by hand', () => {
  const faults: Fault[] = [
    { id: 'screen', chance: 0.5, takes: 60 },
    { id: 'camera', chance: 0.2, takes: 20 },
    { id: 'speaker', chance: 0.1, takes: 5 },
  ];
  const checks: Check[] = [
    { id: 'speaker-test', shows: 'speaker' },
    { id: 'camera-look', shows: 'camera' },
    { id: 'screen-look', shows: 'screen' },
    { id: 'screen-touch', shows: 'screen' },
    { id: 'battery-run', shows: 'camera', minutes: 30 },
  ];

  it('the one that moves the price most first, no two that tell the same, none that takes long', () => {
    const found = tableChecks(table(faults, checks), none, asked);
    expect(found.highest).toBeCloseTo(100 - 30 - 4 - 0.5, 9);
    // 30 either way; .2 · 16 + .8 · 4; .1 · 4.5 + .9 · .5.
    expect(found.checks.map(({ id, moves }) => [id, Math.round(moves * 100) / 100])).toEqual([
      ['screen-look', 30],
      ['camera-look', 6.4],
      ['speaker-test', 0.9],
    ]);
  });

  it('each answer has its highest price, and the chance that it turns the matter', () => {
    const [screen, camera] = tableChecks(table(faults, checks), none, asked).checks;
    expect(screen?.outcomes).toEqual([
      { id: 'bad', chance: 0.5, highest: expect.closeTo(35.5, 9) },
      { id: 'good', chance: 0.5, highest: expect.closeTo(95.5, 9) },
    ]);
    expect(screen?.turns).toBe(0.5);
    expect(camera?.turns).toBe(0.2);
  });

  it('the highest price runs along with the answers', () => {
    const bench = table(faults, checks);
    const good = tableChecks(bench, new Map([['screen-look', 'good']]), asked);
    expect(good.highest).toBeCloseTo(95.5, 9);
    expect(good.checks.map(({ id }) => id)).toEqual(['camera-look', 'speaker-test']);
    const dead = table([{ id: 'board', chance: 0.5, takes: 150 }], [{ id: 'boots', shows: 'board' }]);
    expect(tableChecks(dead, new Map([['boots', 'bad']]), asked)).toEqual({ highest: null, checks: [] });
    expect(tableChecks(dead, none, asked).checks[0]?.moves).toBeCloseTo(0.5 * 75 + 0.5 * 25, 9);
  });

  it('at most five', () => {
    const many = Array.from({ length: 12 }, (_, i) => ({ id: `f${i}`, chance: 0.3, takes: 2 + i / 4 }));
    const found = tableChecks(
      table(
        many,
        many.map(({ id }) => ({ id: `c-${id}`, shows: id })),
      ),
      none,
      asked,
    );
    expect(found.checks.map(({ id }) => id)).toEqual(['c-f11', 'c-f10', 'c-f9', 'c-f8', 'c-f7']);
  });
});

it('a surer check of the same fault comes before a less sure one, which is listed for what it adds', () => {
  fc.assert(
    fc.property(
      fc.double({ min: 0.1, max: 0.9, noNaN: true }),
      fc.double({ min: 0.6, max: 0.95, noNaN: true }),
      (chance, sees) => {
        const faults = [{ id: 'port', chance, takes: 40 }];
        const bench = table(faults, [
          { id: 'a-vague', shows: 'port', sees: sees - 0.3, slips: 0.3 },
          { id: 'b-clear', shows: 'port', sees, slips: 0.02 },
        ]);
        const { checks } = tableChecks(bench, none, { price: 50, unit: 0.01 });
        expect(checks[0]?.id).toBe('b-clear');
        const vague = checks[1];
        if (!vague) return;
        const alone = tableChecks(
          table(faults, [{ id: 'a-vague', shows: 'port', sees: sees - 0.3, slips: 0.3 }]),
          none,
          {
            price: 50,
            unit: 0.01,
          },
        );
        expect(vague.moves).toBeLessThanOrEqual((alone.checks[0]?.moves ?? 0) + 1e-9);
      },
    ),
  );
});

it('the same answers in any order give the same list', () => {
  const faults = ['a', 'b', 'c', 'd'].map((id, i) => ({ id, chance: 0.2 + 0.1 * i, takes: 10 + 5 * i }));
  const bench = table(
    faults,
    faults.map(({ id }) => ({ id: `see-${id}`, shows: id, sees: 0.9, slips: 0.1 })),
  );
  const one = new Map([
    ['see-a', 'bad'],
    ['see-c', 'good'],
  ]);
  const other = new Map([
    ['see-c', 'good'],
    ['see-a', 'bad'],
  ]);
  expect(tableChecks(bench, one, asked)).toEqual(tableChecks(bench, other, asked));
});
