import { expect, test } from 'vitest';
import { mad, median } from '../../shared/market/robust.ts';

test('the median of no values is refused', () => {
  expect(() => median([])).toThrow(RangeError);
  expect(() => mad([])).toThrow(RangeError);
});
