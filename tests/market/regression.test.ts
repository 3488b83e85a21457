import { expect, test } from 'vitest';
import { regress } from '../../shared/market/regression.ts';
import { flatPrior } from '../oracles/flat-prior.ts';

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
  // One column a multiple of another, however large or small their numbers are.
  for (const scale of [1e-6, 1, 1e6]) {
    const alike = [1, 3, 7].map((x) => [x * scale, 2 * x * scale]);
    expect(() => regress(alike, [1, 2, 3], flatPrior(2))).toThrow('nothing determines coefficient 1');
    const apart = [1, 3, 7].map((x) => [x * scale, x * x * scale]);
    expect(() => regress(apart, [1, 2, 3], flatPrior(2))).not.toThrow();
  }
});
