/** `/setup`: the collective's settings, and the places that are tied together. */
import { defineCommand } from '../framework/command.ts';
import { change } from './change.ts';
import { link } from './link.ts';

export const setup = defineCommand({
  name: 'setup',
  summary: "The collective's currency, rate, margin, risk, tax, region and time zone; linking places",
  actions: { change, link },
  main: 'change',
});
