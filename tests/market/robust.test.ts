import { expect, test } from 'vitest';
import { mad, median } from '../../shared/market/robust.ts';

test('the median of no values is refused', () => {
  expect(() => median([])).toThrow(RangeError);
  expect(() => median([])).toThrow('the median of no values');
  expect(median([7])).toBe(7);
  expect(() => mad([])).toThrow(RangeError);
});
