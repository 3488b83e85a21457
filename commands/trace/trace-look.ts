/** What anybody would see and nobody has spoken of: asked once, before the first step. */

import { say } from '../../shared/language/say.ts';
import { type DraftBlock, onBack, text } from '../framework/reply.ts';
import { plainlyUnsaid } from '../shared/said.ts';
import type { TraceDecision } from './trace-decision.ts';

export const unsaidOf = ({ context, phone, question, trace }: TraceDecision) =>
  trace.state === 'open' ? plainlyUnsaid(context, phone, question.events) : [];

export function lookBlocks(bench: TraceDecision): DraftBlock[] {
  if (!unsaidOf(bench).length) return [];
  return onBack(
    text(
      say`Anything else to see? Say what anybody would see on it, or that there is nothing else: that counts too. Answering the step below skips this.`,
    ),
  );
}
