import { type Sealer, sealerOf, sealKeyOf } from '../shared/sealing/sealer.ts';

/** The key of the tests: the same in every test, so that a store can be opened again. */
export const testKey = sealKeyOf(Buffer.alloc(32, 7));
export const testSealer: Sealer = sealerOf([testKey]);
