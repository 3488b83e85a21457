/** The entries of a job in words, and the answers to its questions. */

import type { LoggedEntry, Question } from '../../shared/jobs/entry.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, listWords, packText, plain, quantity, say, verbatim } from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import type { Context } from '../framework/context.ts';
import { endedWords } from '../shared/job-words.ts';
import { waitInWords, withNote } from '../shared/wait-words.ts';
import { componentName, partGradeWords } from '../shared/words.ts';

const answerWords: Readonly<Record<string, Message>> = {
  shown: say`shown`,
  'not-shown': say`not shown`,
  free: say`free`,
  locked: say`locked`,
  clear: say`clear`,
  listed: say`listed`,
  consent: say`the owner agrees that it is erased`,
  purge: say`purged`,
  destroy: say`destroyed`,
  'owner-keeps': say`the owner keeps it`,
  'stays-here': say`the board stays here`,
  refused: say`the owner does not agree`,
};

export const functionName = ({ knowledge }: Context, id: string): Message =>
  packText(knowledge.functions.get(id)?.name ?? id);
export const faultName = ({ knowledge }: Context, id: string | null): Message => {
  const fault = id === null ? undefined : knowledge.faults.get(id);
  return fault ? packText(fault.name) : say`not known`;
};
const endedAs = (as: string): Message =>
  Object.entries(endedWords).find(([one]) => one === as)?.[1] ?? verbatim(as);
const purposeWords = {
  part: say`part`,
  shipping: say`shipping`,
  consumables: say`consumables`,
  sale: say`sale`,
  other: say`other`,
} as const;
const resultWords = { pass: say`passed`, fail: say`failed`, waived: say`waived` } as const;
const topicWords = {
  ownership: say`ownership`,
  lock: say`account lock`,
  stolen: say`stolen-phone list`,
  data: say`data`,
} as const;

/** What a question was answered with. */
export const answerInWords = (question: Question, answer: string): Message =>
  question === 'data' && answer === 'clear' ? say`cleared` : (answerWords[answer] ?? verbatim(answer));

/** One entry in words. */
export function entryInWords(
  context: Context,
  { entry, wiped }: Pick<LoggedEntry, 'entry' | 'wiped'>,
): Message {
  if (wiped) {
    const removed = say`words removed by ${verbatim(wiped.by.name)}`;
    const nothing = entry.kind === 'said' || entry.kind === 'oddity' || entry.kind === 'reopened';
    return nothing ? removed : plain`${entryInWords(context, { entry, wiped: null })} (${removed})`;
  }
  switch (entry.kind) {
    case 'money': {
      const what = entry.component
        ? inRow([componentName(context, entry.component), entry.grade ? partGradeWords[entry.grade] : ''])
        : purposeWords[entry.purpose];
      return entry.way === 'out'
        ? say`${amount(entry.amount)} spent: ${what}`
        : say`${amount(entry.amount)} came back: ${what}`;
    }
    case 'minutes':
      return say`${entry.minutes} min at the bench`;
    case 'reading': {
      const read = quantity(entry.value, entry.unit);
      return entry.of ? say`read ${read}, ${verbatim(entry.of)}` : say`read ${read}`;
    }
    case 'fitted':
      return entry.part === undefined
        ? say`fitted: ${componentName(context, entry.component)}, ${partGradeWords[entry.grade]}`
        : say`fitted: ${componentName(context, entry.component)}, ${partGradeWords[entry.grade]}, part ${entry.part} of the shelf`;
    case 'trace':
      return say`trace ${entry.trace}`;
    case 'said':
      return verbatim(entry.text);
    case 'oddity':
      return say`odd: ${verbatim(entry.text)}`;
    case 'answer':
      return withNote(
        plain`${topicWords[entry.question]}: ${answerInWords(entry.question, entry.answer)}`,
        entry.note,
      );
    case 'test':
      return withNote(
        plain`${functionName(context, entry.function)}: ${resultWords[entry.result]}`,
        entry.reason,
      );
    case 'waiting':
      return waitInWords(entry);
    case 'resumed':
      return say`goes on`;
    case 'listed':
      return say`offered for ${amount(entry.asked)}`;
    case 'came-back':
      return entry.failed.length
        ? say`came back as job ${entry.job}: ${listWords(entry.failed.map((id) => componentName(context, id)))} failed again`
        : say`came back as job ${entry.job}`;
    case 'came-from':
      return say`it is the phone of job ${entry.job}`;
    case 'unlisted':
      return say`no longer offered`;
    case 'timer-started':
      return say`timer started`;
    case 'timer-stopped':
      return say`timer stopped`;
    case 'handed':
      return say`handed from ${verbatim(entry.from.name)} to ${verbatim(entry.to.name)}`;
    case 'finished':
      return say`finished: ${endedAs(entry.as)}`;
    case 'reopened':
      return say`reopened: ${verbatim(entry.why)}`;
  }
}
