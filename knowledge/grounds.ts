/** Grounds as data: which source a statement comes from. */
import type { Knowledge } from './load.ts';
import type { Ground } from './schema.ts';

/** "Title, place" of a ground's source, as it is cited; nothing where there is none. */
export function sourceNote({ sources }: Pick<Knowledge, 'sources'>, ground: Ground): string {
  if (typeof ground === 'string') return '';
  const title = sources.get(ground.source)?.title ?? ground.source;
  return ground.at === undefined ? title : `${title}, ${ground.at}`;
}
