/** How each thing stands that was said to be wrong: gone, known, or to find. */

import type { Message } from '../../shared/language/message.ts';
import { packText } from '../../shared/language/say.ts';
import { componentName } from '../shared/words.ts';
import type { TraceDecision } from './trace-decision.ts';

/** One thing that was said to be wrong: how it stands. */
interface Standing {
  name: Message;
  id: string;
  stands: 'gone' | 'known' | 'to-find';
  /** The remedy or check that made it go. */
  by: string | null;
}

/** All that was said to be wrong, in the order in which it was said. */
export function standingOf({ context, question, found }: TraceDecision): Standing[] {
  const { knowledge } = context;
  const { open, goneBy, damage } = found.belief;
  const shown = new Set(question.events.flatMap((event) => (event.kind === 'shown' ? [event.id] : [])));
  const told = [...shown].flatMap((id): Standing[] => {
    const symptom = knowledge.symptoms.get(id);
    // What happened to it is nothing to find.
    if (!symptom || symptom.history) return [];
    const broken = symptom.damage;
    const name = broken ? componentName(context, broken) : packText(symptom.name);
    const key = broken ?? id;
    const by = goneBy.get(key) ?? null;
    if (broken && damage.includes(broken)) return [{ name, id: key, stands: 'known', by: null }];
    if (!broken && open.includes(id)) return [{ name, id: key, stands: 'to-find', by: null }];
    return by === null ? [] : [{ name, id: key, stands: 'gone', by }];
  });
  const named = new Set(told.map(({ id }) => id));
  return [
    ...told.filter((one, at) => told.findIndex(({ id }) => id === one.id) === at),
    ...damage
      .filter((id) => !named.has(id))
      .map((id): Standing => ({ name: componentName(context, id), id, stands: 'known', by: null })),
  ];
}
