import { createRequire } from 'node:module';
import { z } from 'zod';

/** The parts of jstat 1.9 (which has no types) that the tests compare with: an independent library. */
interface JStat {
  readonly gammaln: (x: number) => number;
  readonly beta: { readonly inv: (p: number, a: number, b: number) => number };
}

export const jStat = z
  .custom<JStat>((value) => typeof value === 'function' && 'gammaln' in value && 'beta' in value)
  .parse(createRequire(import.meta.url)('jstat'));
