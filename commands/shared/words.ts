/** Small wordings that several commands share. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Ground } from '../../knowledge/schema.ts';
import { say } from '../../shared/language/say.ts';
import { isoDateIn } from '../../shared/pairing/law.ts';
import type { Context } from '../framework/context.ts';
import type { Reply } from '../framework/reply.ts';

/** 0.137 as "14 %"; what is not nothing is never shown as 0 or 100 %. */
export const percent = (share: number): string =>
  share > 0 && share < 0.005
    ? say`under 1 %`
    : share < 1 && share >= 0.995
      ? say`over 99 %`
      : `${Math.round(share * 100)} %`;

/** The sources that grounds name, each once. */
export function sourcesOf(knowledge: Knowledge, grounds: readonly Ground[]): Reply['sources'] {
  const ids = new Set(grounds.flatMap((ground) => (typeof ground === 'string' ? [] : [ground.source])));
  return [...ids].flatMap((id) => {
    const source = knowledge.sources.get(id);
    return source
      ? [{ id, title: `${source.publisher}: ${source.title}${source.date ? ` (${source.date})` : ''}` }]
      : [];
  });
}

/** The calendar day of an instant where the collective is, as an ISO date. */
export const dayIn = ({ collective }: Context, instant: Date): string =>
  isoDateIn(collective.settings.zone, instant);

export const componentName = ({ knowledge }: Context, id: string): string =>
  knowledge.components.get(id)?.name ?? id;
