/**
 * `npm run test:fast`: the core, the commands, the pack, the terminal and the start, in less than a minute on two cores. Left
 * to `npm test`: chat platforms, pictures and pages, and whatever starts the program many times.
 */
import { configDefaults, defineConfig, mergeConfig } from 'vitest/config';
import all from '../vitest.config.ts';

export default mergeConfig(
  all,
  defineConfig({
    test: {
      exclude: [
        ...configDefaults.exclude,
        'tests/{clock,discord,draw,fuzz,hard,keys,kills,matrix}/**',
        'tests/terminal/{program,week}.test.ts',
      ],
    },
  }),
);
