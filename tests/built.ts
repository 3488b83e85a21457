/** What tests start as `src/thirdhand.cjs` is built from the sources as they are now. */
import { build } from '../src/build.ts';

export const setup = async (): Promise<void> => {
  await build({ ifStale: true });
};
