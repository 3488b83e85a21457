import type { Message } from '../../shared/language/message.ts';
import { render } from '../../shared/language/render.ts';
import { orList, say, typed, verbatim } from '../../shared/language/say.ts';
import { type Draft, type DraftCard, reply } from './reply.ts';

export interface RefusalDetail {
  /** What was wrong, one sentence. */
  problem: Message;
  /** What would be right. */
  expected?: Message;
  example?: string;
  nearest?: readonly string[];
  /** Which option was wrong, so that the caret can be put under it. */
  option?: string;
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
  problem,
  expected,
  example,
  nearest,
  option,
  line,
  from,
  to,
  cautions = [],
}: RefusalDetail): Draft {
  const blocks: Draft['blocks'] = [];
  if (line !== undefined && from !== undefined && to !== undefined) {
    blocks.push({ kind: 'pointer', line, from, to });
  }
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
    data: { option: option ?? null, example: example ?? null, nearest: nearest ?? [] },
  });
}
