/** What is open on a phone as work of the plan: symptoms and known damage, and what a remedy does for damage. */

import type { Remedy } from '../../../knowledge/schema.ts';
import { phonePowerOf } from '../../phone/intake.ts';
import type { Observable } from '../observable.ts';
import type { BenchBelief } from './bench-belief.ts';
import type { SetCaseQuestion } from './set-case-question.ts';

/** A way to see what is open in the problem: a symptom, or a component known to be broken. */
export interface OpenWork {
  /** Id in the problem: of the symptom, or `damage:` and the component. */
  readonly id: string;
  readonly kind: 'symptom' | 'damage';
  /** Id of the symptom or of the component. */
  readonly ref: string;
}

const DAMAGE = 'damage:';

/** A symptom tells of a fault that shows it so much more often than nothing does. Chosen. */
const TELLS_OF = 0.2;
/** A remedy for known damage mends a fault of the component at least this often. */
const MENDS = 0.5;

/** What can be observed of the phone with some of its open work left, one a mask of it. */
export function observablesOf(open: readonly PlannedWork[]): Observable[] {
  return Array.from({ length: 1 << open.length }, (_, mask) => {
    const ids = open.flatMap(({ kind, ref }, k) => (kind === 'symptom' && (mask >> k) & 1 ? [ref] : []));
    // A symptom that stays while known damage is told counts by its name as well.
    const named = open.flatMap(({ kind, says }, k) => (kind === 'damage' && (mask >> k) & 1 ? says : []));
    return { power: phonePowerOf(ids), open: [...ids, ...named] };
  });
}

export interface Layout {
  readonly open: readonly PlannedWork[];
  readonly stateOf: readonly Observable[];
}

export interface PlannedWork extends OpenWork {
  readonly keeps: number;
  /** Symptoms that say the same as known damage. */
  readonly says: readonly string[];
}

/** What is open, that which costs most of the worth first. */
export function openWork({ knowledge, family }: SetCaseQuestion, belief: BenchBelief): PlannedWork[] {
  const symptoms = belief.open.map((id): PlannedWork => {
    const keeps = knowledge.symptoms.get(id)?.keeps ?? 0;
    return { id, kind: 'symptom', ref: id, keeps, says: [id] };
  });
  const damage = belief.damage.flatMap((component): PlannedWork[] => {
    if (!(component in family.components)) return [];
    const saying = [...knowledge.symptoms.values()].filter((symptom) => symptom.damage === component);
    const keeps = saying.length
      ? saying.reduce((most, symptom) => Math.max(most, symptom.keeps ?? 0), 0)
      : keepsOfBroken(knowledge, component);
    return [
      {
        id: `${DAMAGE}${component}`,
        kind: 'damage',
        ref: component,
        keeps,
        says: saying.map(({ id }) => id),
      },
    ];
  });
  // What happened to a phone is no defect of its own, but where nothing else is to be found something is taken to be wrong.
  const defects = symptoms.filter(({ id }) => !knowledge.symptoms.get(id)?.history);
  const known = defects.length + belief.gone.length > 0;
  return [...(known ? defects : symptoms), ...damage].sort(
    (a, b) => a.keeps - b.keeps || (a.id < b.id ? -1 : 1),
  );
}

/**
 * What a phone keeps of its worth with this component known to be broken and told, where no symptom says so in as many words:
 * as much as with the symptom that a fault of it most shows, of the faults the one that costs most. 0 where none shows.
 */
function keepsOfBroken({ faults, symptoms }: SetCaseQuestion['knowledge'], component: string): number {
  const keeps = [...faults.values()]
    .filter((fault) => fault.component === component)
    .flatMap(({ id }) => {
      const shown = [...symptoms.values()]
        .filter(({ history, seen }) => !history && (seen.faults[id] ?? 0) > seen.otherwise + TELLS_OF)
        .sort((a, b) => (b.seen.faults[id] ?? 0) - (a.seen.faults[id] ?? 0))[0];
      return shown ? [shown.keeps ?? 0] : [];
    });
  return keeps.length ? Math.min(...keeps) : 0;
}

/** P(a remedy mends a component that is known to be broken): its best chance with a fault of it, with a part of it. */
export function mendsDamage({ knowledge }: SetCaseQuestion, remedy: Remedy, component: string): number {
  if (!remedy.parts.some((part) => part.component === component)) return 0;
  const best = Object.entries(remedy.works).reduce(
    (most, [fault, works]) =>
      knowledge.faults.get(fault)?.component === component ? Math.max(most, works) : most,
    0,
  );
  return best >= MENDS ? best : 0;
}
