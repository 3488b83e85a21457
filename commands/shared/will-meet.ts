/** Said once at intake: the cautions that the work on a phone will meet, by name. */
import type { Remedy } from '../../knowledge/schema.ts';
import type { BenchBelief } from '../../shared/diagnosis/sets/bench-belief.ts';
import { listWords, packText, say } from '../../shared/language/say.ts';
import type { PhoneState } from '../../shared/phone/state.ts';
import { cautionsFor } from '../../shared/safety/cautions.ts';
import type { Context } from '../framework/context.ts';
import type { DraftBlock } from '../framework/reply.ts';
import { text } from '../framework/reply.ts';
import type { Phone } from './phone.ts';

/** Remedies of a fault less likely than this are not met often enough to be named. */
const LIKELY = 0.1;

/** The cautions of opening this family and of the remedies of its likely faults. Nothing where there are none. */
export function willMeet(
  { knowledge }: Context,
  { family }: Phone,
  odds: BenchBelief['odds'],
  state: PhoneState,
): DraftBlock[] {
  if (state.danger !== 'none') return [];
  const likely = odds.filter(({ share }) => share >= LIKELY).map(({ fault }) => fault.id);
  const mends = (remedy: Remedy) => likely.some((id) => (remedy.works[id] ?? 0) >= 0.5);
  const remedies = [...knowledge.remedies.values()].filter(mends);
  const inside = remedies.some(({ access }) => access !== 'closed');
  const names = cautionsFor(knowledge, [
    ...(inside ? [...family.open.hazards, ...family.close.hazards] : []),
    ...remedies.flatMap(({ hazards }) => hazards),
  ]).map(({ name }) => packText(name));
  return names.length
    ? [
        text(
          say`This job is likely to meet: ${listWords(names)}. Each is said whole once, before the step that needs it.`,
        ),
      ]
    : [];
}
