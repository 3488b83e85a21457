/**
 * What a phone is worth must not rise with one more thing known to be wrong: every symptom with every damage of a family, and
 * every two complaints that share no cause. `npm run node tests/bench/monotone.ts` walks every family (many minutes);
 * `-- FAMILY...` some of them.
 */
import { pathToFileURL } from 'node:url';
import { fits } from '../../knowledge/features.ts';
import { type Knowledge, loadKnowledge } from '../../knowledge/load.ts';
import type { Family, Symptom } from '../../knowledge/schema.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import { canTell } from '../../shared/diagnosis/observable.ts';
import { planOf } from '../../shared/diagnosis/sets/kept-plans.ts';
import { setCaseOf } from '../../shared/diagnosis/sets/set-case.ts';
import { economicsOf } from '../../shared/economics/economics.ts';
import { phonePowerOf, phoneStateOf } from '../../shared/phone/intake.ts';

/** A rise above this share of the takings is one. */
const TOLERANCE = 0.005;
/** A fault shows a symptom clearly where it does so more often than nothing does, by this. */
const CLEARLY = 0.01;

export interface Rise {
  family: string;
  /** What was known before, and what was known besides. */
  of: string;
  with: string;
  kind: 'damage' | 'complaint';
  /** As a share of the takings. */
  by: number;
}

export interface Monotone {
  pairs: number;
  violations: Rise[];
  /**
   * Rises over a phone of which nothing is known but what happened to it (it got wet, it was dropped): there anything may be
   * wrong, and a complaint says what it is. Each is one of those two in `of` and a complaint in `with`.
   */
  explained: Rise[];
}

/** What can be asked of a family: each pair is looked at where `wanted` says so. */
export function monotone(
  knowledge: Knowledge,
  families: readonly Family[],
  wanted: (pair: number, of: string, more: string) => boolean = () => true,
): Monotone {
  const found: Monotone = { pairs: 0, violations: [], explained: [] };
  let pair = 0;
  for (const family of families) {
    const economics = economicsOf({
      ...{ knowledge, family, settings: { ...defaultSettings, hourlyRate: 30 }, sightings: [], parts: [] },
      ...{ grade: 0, value: 180, now: new Date('2026-03-02T09:00:00Z') },
    });
    const known = new Map<string, number | null>();
    const worth = (symptoms: readonly string[], damage: readonly string[] = []): number | null => {
      const key = `${[...symptoms].sort().join()}/${damage.join()}`;
      const have = known.get(key);
      if (have !== undefined) return have;
      const question = {
        ...{ knowledge, family, economics, damage, state: phoneStateOf(knowledge, symptoms) },
        events: symptoms.map((id) => ({ kind: 'shown', id }) as const),
      };
      const phone = setCaseOf(question);
      // A cell that may be dangerous is handed over: there is nothing to plan.
      const made = phone && phone.state.danger === 'none' ? planOf(phone).value : null;
      known.set(key, made);
      return made;
    };
    const look = (kind: Rise['kind'], of: readonly string[], more: string, both: () => number | null) => {
      if (!wanted(pair++, of.join(), more)) return;
      const before = worth(of);
      const after = both();
      if (before === null || after === null) return;
      found.pairs++;
      const by = (after - before) / economics.takings;
      if (by <= TOLERANCE) return;
      const bare = kind === 'complaint' && of.every((id) => knowledge.symptoms.get(id)?.history);
      (bare ? found.explained : found.violations).push({
        family: family.id,
        of: of.join(),
        with: more,
        kind,
        by,
      });
    };
    const symptoms = [...knowledge.symptoms.values()].filter((one) => fits(family, one));
    for (const symptom of symptoms)
      for (const component of Object.keys(family.components))
        if (symptom.damage !== component)
          look('damage', [symptom.id], component, () => worth([symptom.id], [component]));
    symptoms.forEach((one, at) => {
      for (const other of symptoms.slice(at + 1)) {
        if (sharedCauses(one, other).length || !seenTogether(one, other)) continue;
        const both = () => worth([one.id, other.id]);
        look('complaint', [one.id], other.id, both);
        look('complaint', [other.id], one.id, both);
      }
    });
  }
  return found;
}

/** The faults that show both clearly. */
export const sharedCauses = (one: Symptom, other: Symptom): string[] =>
  Object.entries(one.seen.faults).flatMap(([fault, chance]) =>
    chance > one.seen.otherwise + CLEARLY && (other.seen.faults[fault] ?? 0) > other.seen.otherwise + CLEARLY
      ? [fault]
      : [],
  );

/** False where a phone that shows the one cannot show the other. */
const seenTogether = (one: Symptom, other: Symptom): boolean => {
  const now = (open: string) => ({ power: phonePowerOf([open]), open: [open] });
  return canTell(one.when, now(other.id)) && canTell(other.when, now(one.id));
};

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const knowledge = loadKnowledge();
  const named = process.argv.slice(2);
  for (const family of knowledge.families.values()) {
    if (named.length && !named.includes(family.id)) continue;
    const from = Date.now();
    const { pairs, violations, explained } = monotone(knowledge, [family]);
    const seconds = Math.round((Date.now() - from) / 1000);
    console.log(
      `${family.id}: ${violations.length} rises in ${pairs} pairs, and ${explained.length} where a complaint says what may be wrong, ${seconds} s`,
    );
    const told = (list: readonly Rise[], why: string) => {
      for (const { of, with: more, kind, by } of list)
        console.log(`  ${of} with ${kind} ${more}: up ${(100 * by).toFixed(2)} %${why}`);
    };
    told(violations, '');
    told(explained, ' (only its history was known)');
  }
}
