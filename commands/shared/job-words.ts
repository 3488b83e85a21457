/** Where a job stands, in words, and what of it is not tested yet. */
import { functionsOf } from '../../shared/jobs/functions.ts';
import { type JobRecord, jobStateOf, testsOf } from '../../shared/jobs/job.ts';
import { waitingOf } from '../../shared/jobs/waiting.ts';
import type { Message } from '../../shared/language/message.ts';
import { say } from '../../shared/language/say.ts';
import type { PhoneState } from '../../shared/phone/state.ts';
import type { Context } from '../framework/context.ts';
import { familyById } from './phone.ts';
import { stateOfJob } from './phone-state.ts';
import { waitInWords } from './wait-words.ts';

const stateWords = {
  intake: say`at intake`,
  held: say`held`,
  bench: say`on the bench`,
  testing: say`being tested`,
  listed: say`offered for sale`,
  closed: say`closed`,
} as const;
const heldWords = {
  suspect: say`held, cell to isolate`,
  isolated: say`held, to hand over`,
  'handed-over': say`handed over`,
  wet: say`held, wet`,
} as const;
export const endedWords = {
  restored: say`restored`,
  stripped: say`stripped for parts`,
  passed: say`passed on`,
  'handed-back': say`handed back`,
} as const;
/** A restored phone was sold or is kept. */
const endedInWords = ({ as, ending }: NonNullable<JobRecord['ended']>): Message =>
  as !== 'restored' ? endedWords[as] : ending.kept ? say`restored and kept` : say`restored and sold`;

export function stateInWords(
  context: Context,
  job: JobRecord,
  { danger, wet }: PhoneState = stateOfJob(context, job),
): Message {
  if (job.ended) return endedInWords(job.ended);
  if (danger !== 'none') return heldWords[danger];
  if (wet === 'wet') return heldWords.wet;
  const waits = waitingOf(job);
  return waits ? waitInWords(waits) : stateWords[jobStateOf(job, { danger, wet })];
}

/** Functions of its family that have no result yet, those for the closing last. */
export const untestedOf = (context: Context, job: JobRecord) => {
  const done = testsOf(job);
  return functionsOf(context.knowledge, familyById(context, job.family)).filter(({ id }) => !done.has(id));
};
