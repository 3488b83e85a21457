import { say, translated } from '../../shared/language/say.ts';
import { type Reply, reply } from './reply.ts';

export interface RefusalDetail {
  /** What was wrong, one sentence. */
  problem: string;
  /** What would be right. */
  expected?: string;
  example?: string;
  nearest?: readonly string[];
  /** Which option was wrong, so that the caret can be put under it. */
  option?: string;
  line?: string;
  from?: number;
  to?: number;
}

/** Thrown anywhere below the dispatcher: the command is refused and nothing is saved. */
export class Refusal extends Error {
  readonly detail: RefusalDetail;
  constructor(detail: RefusalDetail) {
    super(detail.problem);
    this.name = say`Refusal`;
    this.detail = detail;
  }
}

/** "A", "A or B", "A, B or C". */
export const orList = (words: readonly string[]): string =>
  words.length < 2 ? (words[0] ?? '') : say`${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;

export function refusalReply({
  problem,
  expected,
  example,
  nearest,
  option,
  line,
  from,
  to,
}: RefusalDetail): Reply {
  const blocks: Reply['blocks'] = [];
  if (line !== undefined && from !== undefined && to !== undefined) {
    blocks.push({ kind: 'pointer', line, from, to });
  }
  if (nearest?.length) blocks.push({ kind: 'text', text: say`Did you mean ${orList(nearest)}?` });
  if (expected) blocks.push({ kind: 'text', text: say`Expected: ${translated(expected)}` });
  if (example) blocks.push({ kind: 'text', text: say`For example: ${example}` });
  return reply({
    outcome: 'refused',
    audience: 'asker',
    tone: 'caution',
    title: problem,
    blocks,
    data: {
      problem,
      expected: expected ?? null,
      example: example ?? null,
      nearest: nearest ?? [],
      option: option ?? null,
    },
  });
}
