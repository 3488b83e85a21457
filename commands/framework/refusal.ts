/** Refusals: why something was not done, as a code for programs and as words for people. */
import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { render } from '../../shared/language/render.ts';
import { orList, say, typed, verbatim } from '../../shared/language/say.ts';
import {
  type Draft,
  type DraftBlock,
  type DraftCard,
  type DraftChoice,
  type Invocation,
  reply,
} from './reply.ts';

/**
 * Every code that a refusal can have, and what it means. Codes are stable: programs go by them, while the words are in the
 * reader's language and change.
 */
export const refusalCodes = {
  'bad-line': 'the line cannot be read as a command',
  'unknown-command': 'there is no such command',
  'unknown-action': 'the command has no such action',
  'unknown-option': 'the action has no such option',
  'missing-option': 'an option that is needed was left out; `option` names it where it is one',
  'bad-option': 'the value of `option` cannot be read, or does not fit the rest',
  'not-found': 'nothing is called so or has that number',
  'not-here': 'it works in a direct message only, or in a shared place only',
  'not-allowed': 'the person may not do it; somebody else may',
  'wrong-state': 'it cannot be done as things stand now: ended, closed, held, done already',
  unsafe: 'somebody could be hurt: a cell that may be dangerous, or a wet phone, comes first',
  secret: 'the text holds what is never kept, such as a passcode',
  'stale-choice': 'the choice is gone, or what it was offered for has moved on',
  'rate-limited': 'too much at once',
  'no-collective': 'it is not known which collective is meant',
  unavailable:
    'something that is needed is not there just now: the key to the store, a family of the pack, a platform',
} as const;
export type RefusalCode = keyof typeof refusalCodes;
export const isRefusalCode = (code: string): code is RefusalCode => Object.hasOwn(refusalCodes, code);

/** What `data` of a refused reply is. */
export const refusalData = z.object({
  code: z.literal(Object.keys(refusalCodes).filter(isRefusalCode)),
  /** Which option was wrong or is missing. */
  option: z.string().optional(),
  /** What would be right, as it is typed. */
  example: z.string().optional(),
  /** What may have been meant: names that are close to what was typed. */
  nearest: z.array(z.string()).optional(),
  /** Of a file: which of its lines are wrong, counted from 1, and in which column. */
  lines: z.array(z.object({ line: z.number().int().min(1), column: z.string().optional() })).optional(),
});
export type RefusalData = z.infer<typeof refusalData>;

export interface RefusalDetail extends Pick<RefusalData, 'code' | 'lines'> {
  /** What was wrong, one sentence. */
  problem: Message;
  /** What would be right. */
  expected?: Message;
  example?: string;
  nearest?: readonly string[];
  /** Which option was wrong, so that the caret can be put under it. */
  option?: string;
  /** What is said besides, before the advice. */
  blocks?: readonly DraftBlock[];
  /** What is asked in place of the refusal, where that can be done. */
  instead?: Invocation | null;
  /** What may be said instead, one tap each. */
  choices?: readonly DraftChoice[];
  line?: string;
  /** What the phone that was spoken of must not be without, also where the command is refused. */
  cautions?: readonly DraftCard[];
  from?: number;
  to?: number;
}

/** Thrown anywhere below the dispatcher: the command is refused and nothing is saved. */
export class Refusal extends Error {
  readonly detail: RefusalDetail;
  constructor(detail: RefusalDetail) {
    super(render(detail.problem, 'en'));
    this.name = 'Refusal';
    this.detail = detail;
  }
}

export function refusalReply({
  code,
  problem,
  expected,
  example,
  nearest,
  option,
  line,
  from,
  to,
  cautions = [],
  lines,
  blocks: more = [],
}: RefusalDetail): Draft<RefusalData> {
  const blocks: Draft['blocks'] = [];
  if (line !== undefined && from !== undefined && to !== undefined) {
    blocks.push({ kind: 'pointer', line, from, to });
  }
  blocks.push(...more);
  if (nearest?.length)
    blocks.push({ kind: 'text', text: say`Did you mean ${orList(nearest.map((one) => verbatim(one)))}?` });
  if (expected) blocks.push({ kind: 'text', text: say`Expected: ${expected}` });
  if (example) blocks.push({ kind: 'text', text: say`For example: ${typed(example)}` });
  return reply({
    outcome: 'refused',
    audience: 'asker',
    tone: cautions.some((card) => card.tone === 'danger') ? 'danger' : 'caution',
    cautions: [...cautions],
    title: problem,
    blocks,
    data: {
      code,
      ...(option === undefined ? {} : { option }),
      ...(example === undefined ? {} : { example }),
      ...(nearest?.length ? { nearest: [...nearest] } : {}),
      ...(lines?.length ? { lines } : {}),
    },
  });
}
