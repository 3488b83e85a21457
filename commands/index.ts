/** What people can say, in the order in which help shows it. */
import { caution } from './caution.ts';
import type { Command } from './command.ts';
import { family } from './family.ts';
import { helpFor } from './help.ts';
import { paired } from './paired.ts';
import { prices } from './prices.ts';
import { setup } from './setup.ts';
import { trace } from './trace.ts';
import { worth } from './worth.ts';

export const commands: readonly Command[] = [
  worth,
  trace,
  paired,
  caution,
  prices,
  family,
  setup,
  helpFor(() => commands),
];
