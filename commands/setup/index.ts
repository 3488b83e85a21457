/** `/setup`: the collective's settings, and the places that are tied together. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { setupChange } from './change.ts';
import { setupLink } from './link.ts';

export const setup = defineCommand({
  name: 'setup',
  summary: say`The collective's currency, rate, margin, tax, region and time zone; linking places`,
  actions: {
    change: setupChange,
    link: setupLink,
  },
  main: 'change',
});
