/** What people can say, in the order in which help shows it. */
import { caution } from './caution.ts';
import type { Command } from './command.ts';
import { family } from './family.ts';
import { helpFor } from './help.ts';
import { job } from './job.ts';
import { mydata } from './mydata.ts';
import { note } from './note.ts';
import { paired } from './paired.ts';
import { prices } from './prices.ts';
import { setup } from './setup.ts';
import { swap } from './swap.ts';
import { trace } from './trace.ts';
import { week } from './week.ts';
import { worth } from './worth.ts';

export const commands: readonly Command[] = [
  worth,
  trace,
  job,
  paired,
  swap,
  caution,
  prices,
  week,
  note,
  family,
  setup,
  mydata,
  helpFor(() => commands),
];
