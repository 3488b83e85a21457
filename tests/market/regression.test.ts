import { expect, test } from 'vitest';
import { flatPrior, regress } from '../../shared/market/regression.ts';

test('refuses what cannot be solved', () => {
  const twice = [
    [1, 1],
    [1, 1],
  ];
  expect(() => regress(twice, [1, 2], flatPrior(2))).toThrow(RangeError);
  expect(() => regress([[1]], [1, 2], flatPrior(1))).toThrow(RangeError);
  expect(() => regress([[1, 2]], [1], flatPrior(1))).toThrow('must have 1 columns');
  expect(() => regress([[1]], [1], { mean: [0], precision: [1, 1], shape: 1, rate: 1 })).toThrow(
    'must have 1 columns',
  );
  expect(() => regress([[1], [1]], [1, 2], flatPrior(1), [1])).toThrow('as many rows');
  expect(() => regress([[1]], [1], flatPrior(1), [1, 1])).toThrow('as many rows');
});
