/**
 * The pack beside what people bring to repair events (`repair-events.yaml`): how far its shares of faults are from the counts, and
 * what share of the records it has names for.
 */
import { readFileSync } from 'node:fs';
import { z } from 'zod';
import { faultsOf, unnamed } from './gaps.ts';
import type { Knowledge } from './load.ts';
import { idSchema } from './schema.ts';
import { yaml } from './yaml.ts';

const count = z.number().int().min(0);
/** Ids of symptoms, and of components as `damage:id`. */
const saidAs = z.array(z.string().regex(/^(damage:)?[a-z0-9-]+$/));
const sentences = z.array(z.string().min(3).max(80));

const eventsSchema = z.strictObject({
  source: idSchema,
  classes: z.array(
    z.strictObject({ id: idSchema, n: count, said: saidAs, faults: z.array(idSchema), how: sentences }),
  ),
  together: z.array(z.array(idSchema)),
  'once-unsaid': z.strictObject({
    of: count,
    n: count,
    kinds: z.array(z.strictObject({ said: saidAs, how: sentences })),
  }),
});
export type RepairEvents = z.infer<typeof eventsSchema>;

/** @throws where the file is not as described. */
export const readRepairEvents = (): RepairEvents =>
  eventsSchema.parse(yaml().parse(readFileSync(new URL('./repair-events.yaml', import.meta.url), 'utf8')));

/** Last year of the events: families that are younger were not there. */
const LAST_YEAR = 2021;

interface ClassShare {
  /** Ids of the classes that count as one. */
  classes: readonly string[];
  /** Share of the records that name a fault. */
  counted: number;
  /** Share of the pack's weights. */
  pack: number;
}

/**
 * Shares of the classes that name a fault, in the records and in the pack: of one family, or the mean of those that were sold in
 * the years of the events. Faults of no class are left out of both.
 */
export function classShares(knowledge: Knowledge, events: RepairEvents, family?: string): ClassShare[] {
  const naming = events.classes.filter(({ faults }) => faults.length > 0);
  const groups = [
    ...events.together,
    ...naming.map(({ id }) => [id]).filter(([id]) => !events.together.flat().includes(id ?? '')),
  ].map((ids) => naming.filter(({ id }) => ids.includes(id)));
  const families = [...knowledge.families.values()].filter(({ id, era }) =>
    family === undefined ? era.from < LAST_YEAR : id === family,
  );
  const packs = families.map((one) => {
    const weight = new Map(
      faultsOf(knowledge, one).map(({ id, weight, times }) => [
        id,
        one.features.reduce((product, feature) => product * (times?.[feature] ?? 1), weight),
      ]),
    );
    const sums = groups.map((group) =>
      group.flatMap(({ faults }) => faults).reduce((sum, id) => sum + (weight.get(id) ?? 0), 0),
    );
    const total = sums.reduce((sum, one) => sum + one, 0);
    return sums.map((sum) => sum / total);
  });
  const shares = groups.map((group, at) => ({
    classes: group.map(({ id }) => id),
    n: group.reduce((sum, { n }) => sum + n, 0),
    pack: packs.reduce((sum, shares) => sum + (shares[at] ?? 0), 0) / packs.length,
  }));
  // A class that none of these families can have (a socket that none has) is left out of both.
  const held = shares.filter(({ pack }) => pack > 0);
  const all = held.reduce((sum, { n }) => sum + n, 0);
  return held.map(({ classes, n, pack }) => ({ classes, counted: n / all, pack }));
}

/** Kullback-Leibler divergence of the counts from the pack, nats: 0 where both say the same. */
export const divergence = (shares: readonly ClassShare[]): number =>
  shares.reduce((sum, { counted, pack }) => sum + (counted > 0 ? counted * Math.log(counted / pack) : 0), 0);

/** True where the pack has at least one of these names, and people's words say it. */
function hasNames(knowledge: Knowledge, said: readonly string[]): boolean {
  const silent = new Set(unnamed(knowledge));
  return said.some((name) =>
    name.startsWith('damage:')
      ? (knowledge.wordRules.damage[name.slice('damage:'.length)]?.length ?? 0) > 0
      : knowledge.symptoms.has(name) && !silent.has(name),
  );
}

/** Share of the records that can be said, by class, the classes that name nothing left out. */
export function sayable(
  knowledge: Knowledge,
  { classes }: RepairEvents,
): { share: number; without: string[] } {
  const naming = classes.filter(({ faults }) => faults.length > 0);
  const without = naming.filter(({ said }) => !hasNames(knowledge, said));
  const sum = (list: readonly { n: number }[]) => list.reduce((total, { n }) => total + n, 0);
  return { share: 1 - sum(without) / sum(naming), without: without.map(({ id }) => id) };
}

/** Of the kinds that once could not be said, those that still cannot. */
export const stillUnsaid = (knowledge: Knowledge, events: RepairEvents): string[] =>
  events['once-unsaid'].kinds
    .filter(({ said }) => !hasNames(knowledge, said))
    .map(({ said }) => said.join(', '));
