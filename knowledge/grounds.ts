/** Grounds in words: where a statement comes from, as a reply says it. */
import type { Knowledge } from './load.ts';
import type { Ground } from './schema.ts';

const PRACTICE = 'common practice, no source';
const MEMORY = 'from memory, not read again';

const checkedWords = { read: '', reported: ' (as reported)', memory: ' (from memory)' } as const;

/** "Title, place", with "as reported" or "from memory" where the source itself was not read; or that there is none. */
export function groundInWords({ sources }: Pick<Knowledge, 'sources'>, ground: Ground): string {
  if (ground === 'practice') return PRACTICE;
  if (ground === 'memory') return MEMORY;
  const source = sources.get(ground.source);
  const place = ground.at ? `, ${ground.at}` : '';
  return `${source?.title ?? ground.source}${place}${checkedWords[source?.checked ?? 'read']}`;
}
