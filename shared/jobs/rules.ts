/** What stands in the way: of work on a job, and of its end. Each reason says what is wrong and what would put it right. */
import type { PhoneFunction } from '../../knowledge/schema.ts';
import type { Message } from '../language/message.ts';
import { inSentence, listWords, packText, say } from '../language/say.ts';
import type { PhoneState } from '../phone/state.ts';
import { answersOf, type EndedAs, type JobRecord, openQuestions, testsOf } from './job.ts';

export interface Obstacle {
  /** What is wrong, a sentence. */
  problem: Message;
  /** What would be right. */
  expected: Message;
  /** Somebody could be hurt. */
  unsafe?: true;
  /** What is to be said where that alone is missing: what becomes of its data, what it brought. */
  asks?: 'data' | 'sold';
}

const badWords = {
  ownership: say`ownership is not shown`,
  lock: say`it is locked to an account`,
  stolen: say`it is on a stolen-phone list`,
} as const;
const openWords = {
  ownership: say`whether ownership is shown`,
  lock: say`whether it is free of an account lock`,
  stolen: say`whether it is on a stolen-phone list`,
} as const;

/** Why no money is spent on it and its board is not worked on; null when nothing stands in the way. */
export function whyNoWork(job: JobRecord): Obstacle | null {
  const open = openQuestions(job);
  const bad = open.filter(({ state }) => state === 'bad').map(({ question }) => badWords[question]);
  if (bad.length) {
    return {
      problem: say`Job ${job.number} is held: ${listWords(bad)}`,
      expected: say`to hand it back to its owner or report it (/job finish as:handed-back), or a new answer when that has changed`,
    };
  }
  if (!open.length) return null;
  return {
    problem: say`Job ${job.number} waits for an answer: ${listWords(open.map(({ question }) => openWords[question]))}`,
    expected: say`the answers first`,
  };
}

const dangerWords = {
  suspect: say`its cell may be dangerous and is not isolated yet`,
  isolated: say`its cell may be dangerous, and it waits to be handed over`,
  'handed-over': say`its cell may be dangerous, and it was handed over`,
} as const;

/** Why nothing is done on it until its cell has been dealt with; null where no danger is known. */
export const whyDanger = ({ number }: JobRecord, { danger }: PhoneState): Obstacle | null =>
  danger === 'none'
    ? null
    : {
        problem: say`Job ${number} is held: ${dangerWords[danger]}`,
        expected: say`another cell fitted by someone qualified (/danger new-cell), or the phone handed over`,
        unsafe: true,
      };

/** Why it is not switched on, charged or tested; null unless it is wet. */
export const whyWet = ({ number }: JobRecord, { wet }: PhoneState): Obstacle | null =>
  wet === 'wet'
    ? {
        problem: say`Job ${number} is held: it is wet, and gets no current before it is cleaned inside and dry`,
        expected: say`the cleaning first, then /danger cleaned`,
        unsafe: true,
      }
    : null;

/** How a held phone is handed back or reported. Local codes and licensed practice come first. */
export const HAND_BACK: readonly Message[] = [
  say`Not the owner’s to give, or no proof: give it back to whoever brought it, and write down when.`,
  say`Locked: only the owner can take the account off. Without them it goes back as it is; there is no way round it here.`,
  say`On a stolen-phone list: do not buy, sell, repair or strip it. Hand it to the police, or tell the operator whose list it is on; a wrong entry is for the owner and their operator to clear.`,
  say`What local law asks of you here comes first.`,
];

export interface Finish {
  as: EndedAs;
  realised: boolean;
  kept: boolean;
  /** Said to be left unsealed. */
  unsealed: boolean;
}

/** Whether what was on it is erased, or stays with an owner who has it back. */
export function isErased(job: JobRecord): boolean {
  const { data } = answersOf(job);
  return data === 'clear' || data === 'purge' || (job.came === 'customer' && data === 'owner-keeps');
}

/** Everything that is not so, for the way a job is to end; empty when it may. */
export function whyNotFinish(
  job: JobRecord,
  phone: PhoneState,
  functions: readonly PhoneFunction[],
  finish: Finish,
): Obstacle[] {
  const { as, realised, kept, unsealed } = finish;
  if (as === 'handed-back') return [];
  const found: Obstacle[] = [];
  const held = [
    whyNoWork(job),
    ...(as === 'passed' ? [] : [whyDanger(job, phone)]),
    ...(as === 'restored' ? [whyWet(job, phone)] : []),
  ];
  found.push(...held.filter((one) => one !== null));
  const { data } = answersOf(job);
  if (as === 'restored') {
    found.push(...untested(job, functions, unsealed));
    if (!isErased(job)) {
      found.push({
        asks: 'data',
        problem: say`What was on it is not erased: erasing comes before it changes hands`,
        expected:
          job.came === 'customer'
            ? say`data:clear or data:purge (NIST SP 800-88), or data:owner-keeps for a customer’s own phone`
            : say`data:clear or data:purge (NIST SP 800-88)`,
      });
    }
    if (!realised && !kept) {
      found.push({
        asks: 'sold',
        problem: say`What it brought is not said`,
        expected: say`sold: with the price, or kept:yes`,
      });
    }
  }
  if (as === 'stripped' && (data === null || data === 'consent' || data === 'refused')) {
    found.push({
      problem: say`What becomes of the data on its board is not said`,
      expected: say`data:clear, purge or destroy (NIST SP 800-88), or data:stays-here for a board that is not passed on`,
    });
  }
  return found;
}

function untested(job: JobRecord, functions: readonly PhoneFunction[], unsealed: boolean): Obstacle[] {
  const tests = testsOf(job);
  const found: Obstacle[] = [];
  const missing = functions.filter(({ id, closing }) => !tests.has(id) && !(closing && unsealed));
  if (missing.length) {
    found.push({
      problem: say`Not tested: ${listWords(missing.map(({ name }) => inSentence(packText(name))))}`,
      expected: missing.every(({ closing }) => closing)
        ? say`the seal tested, or unsealed:yes to say that it is left unsealed`
        : say`each passed, or waived with a reason`,
    });
  }
  const failed = functions.filter(({ id }) => tests.get(id)?.result === 'fail');
  if (failed.length) {
    found.push({
      problem: say`Failed: ${listWords(failed.map(({ name }) => inSentence(packText(name))))}`,
      expected: say`mended and tested again, or waived with a reason that the next owner is told`,
    });
  }
  return found;
}

/** True where the seal has passed; false where it is waived or said to be left; null for a family without one. */
export function sealedAs(
  job: JobRecord,
  functions: readonly PhoneFunction[],
  unsealed: boolean,
): boolean | null {
  const seal = functions.find(({ closing }) => closing);
  if (!seal) return null;
  return !unsealed && testsOf(job).get(seal.id)?.result === 'pass';
}

/** Why nothing can be added to it. */
export const whyClosed = (job: JobRecord): Obstacle | null =>
  job.ended
    ? {
        problem: say`Job ${job.number} is closed`,
        expected: say`to reopen it first: /job reopen job:${job.number}`,
      }
    : null;
