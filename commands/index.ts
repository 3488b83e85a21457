/** What people can say, in the order in which help shows it. */
import { caution } from './caution.ts';
import { danger } from './danger/index.ts';
import { family } from './family/index.ts';
import type { Command } from './framework/command.ts';
import { helpFor } from './help.ts';
import { job } from './job/index.ts';
import { lot } from './lot/index.ts';
import { mydata } from './mydata/index.ts';
import { note } from './note/index.ts';
import { paired } from './paired/index.ts';
import { prices } from './prices/index.ts';
import { read } from './read.ts';
import { reading } from './reading/index.ts';
import { records } from './records/index.ts';
import { setup } from './setup/index.ts';
import { shelf } from './shelf/index.ts';
import { swap } from './swap/index.ts';
import { trace } from './trace/index.ts';
import { week } from './week/index.ts';
import { worth } from './worth/index.ts';

const ofEverySurface: readonly Command[] = [
  read,
  worth,
  lot,
  trace,
  job,
  paired,
  shelf,
  swap,
  danger,
  caution,
  prices,
  records,
  week,
  note,
  reading,
  family,
  setup,
  mydata,
];

/** The commands with those of one surface alone among them: help speaks of them all. */
export function commandsWith(own: readonly Command[], given = ofEverySurface): readonly Command[] {
  const all: readonly Command[] = [
    ...given.filter(({ name }) => name !== 'help'),
    ...own,
    helpFor(() => all),
  ];
  return all;
}

/** What can be said on every surface. */
export const commands = commandsWith([]);
