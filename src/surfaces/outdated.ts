/** A choice that was pressed after what it was about had moved on: how things stand now is shown in the place of a refusal. */

import { refusalData } from '../../commands/framework/refusal.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import type { Request } from '../../commands/framework/request.ts';

/** What shows how things stand; null where the reply is no refusal of an old choice. */
function showLine({ outcome, data }: Reply): string | null {
  const read = outcome === 'refused' ? refusalData.safeParse(data).data : undefined;
  const line = read?.code === 'stale-choice' ? read.example : undefined;
  return line !== undefined && /^\/[a-z]+ show \d+$/.test(line) ? line : null;
}

/** The newest state, with the words of the refusal over it; null where nothing was out of date, or it cannot be shown. */
export function newestInstead(
  refused: Reply,
  said: Request['say'],
  show: (line: string) => Reply,
): Reply | null {
  const line = 'token' in said ? showLine(refused) : null;
  if (line === null) return null;
  const newest = show(line);
  if (newest.outcome !== 'answered') return null;
  return { ...newest, blocks: [{ kind: 'text', text: refused.title }, ...newest.blocks] };
}
