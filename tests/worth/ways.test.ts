import { describe, expect, it } from 'vitest';
import {
  type End,
  gatesOf,
  looksFirst,
  outcomesOf,
  type PlanNode,
  type PlanStep,
} from '../../shared/worth/ways.ts';

const sale = { location: Math.log(120), scale: 0.1, degrees: 6 };
const end = (id: string, more: Partial<End> = {}): End => ({
  kind: 'end',
  id,
  restored: false,
  cash: 0,
  minutes: 0,
  sale: null,
  ...more,
});
const step = (
  id: string,
  cash: number,
  minutes: number,
  ...then: [id: string, chance: number, PlanNode][]
): PlanStep => ({
  kind: 'step',
  id,
  cash,
  minutes,
  outcomes: then.map(([outcome, chance, node]) => ({ id: outcome, chance, next: node })),
});
const works = end('restored', { restored: true, sale });
const stop = end('stop', { minutes: 2 });
/** A look on a test cell; a cell where it boots; where that was not it a board, once in four. */
const plan = step(
  'test-cell',
  0,
  15,
  [
    'boots',
    0.6,
    step(
      'new-cell',
      28,
      10,
      ['works', 0.9, works],
      ['failed', 0.1, step('new-board', 60, 40, ['works', 0.5, works], ['failed', 0.5, stop])],
    ),
  ],
  ['dead', 0.4, stop],
);

describe('outcomes', () => {
  it('by hand: chance, money and minutes of each way that it ends', () => {
    expect(outcomesOf(plan)).toEqual([
      { chance: expect.closeTo(0.54, 12), cash: 28, minutes: 25, sale, restored: true },
      { chance: expect.closeTo(0.03, 12), cash: 88, minutes: 65, sale, restored: true },
      { chance: expect.closeTo(0.03, 12), cash: 88, minutes: 67, sale: null, restored: false },
      { chance: expect.closeTo(0.4, 12), cash: 0, minutes: 17, sale: null, restored: false },
    ]);
  });
  it('that are alike are one', () => {
    const twice = step('look', 0, 5, ['a', 0.3, stop], ['b', 0.7, stop]);
    expect(outcomesOf(twice)).toEqual([{ chance: 1, cash: 0, minutes: 7, sale: null, restored: false }]);
  });
  it('chances that do not sum to 1 are refused', () => {
    expect(() => outcomesOf(step('look', 0, 5, ['a', 0.3, stop]))).toThrow('look sum to 0.3');
  });
});

describe('gates', () => {
  it('by hand: what is at stake, and what is known by then', () => {
    expect(gatesOf(plan)).toEqual([
      {
        number: 1,
        chance: expect.closeTo(0.6, 12),
        minutesBefore: expect.closeTo(15, 12),
        cashBefore: 0,
        cash: expect.closeTo(28, 12),
        restored: expect.closeTo(0.95, 12),
        steps: [{ id: 'new-cell', chance: expect.closeTo(1, 12), cash: expect.closeTo(28, 12) }],
      },
      {
        number: 2,
        chance: expect.closeTo(0.06, 12),
        minutesBefore: expect.closeTo(25, 12),
        cashBefore: expect.closeTo(28, 12),
        cash: expect.closeTo(60, 12),
        restored: expect.closeTo(0.5, 12),
        steps: [{ id: 'new-board', chance: expect.closeTo(1, 12), cash: expect.closeTo(60, 12) }],
      },
    ]);
  });
  it('of several steps are one gate, by the answer that leads there', () => {
    const either = step(
      'look',
      0,
      5,
      ['cell', 0.75, step('new-cell', 20, 10, ['works', 1, works])],
      ['port', 0.25, step('new-port', 40, 20, ['works', 1, works])],
    );
    const [gate, ...rest] = gatesOf(either);
    expect(rest).toEqual([]);
    expect(gate).toMatchObject({ chance: 1, cash: 25, restored: 1 });
    expect(gate?.steps).toEqual([
      { id: 'new-cell', chance: 0.75, cash: 20 },
      { id: 'new-port', chance: 0.25, cash: 40 },
    ]);
  });
});

it('to look first is a plan that may stop before money is put in', () => {
  expect(looksFirst(plan)).toBe(true);
  expect(looksFirst(step('new-cell', 28, 10, ['works', 0.9, works], ['failed', 0.1, stop]))).toBe(false);
  // A restart that mends it costs nothing, and stops nothing.
  expect(looksFirst(step('restart', 0, 2, ['works', 1, works]))).toBe(false);
});
