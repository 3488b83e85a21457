import type { Problem } from './one-fault/problem.ts';

/**
 * The optimum by plain memoised dynamic programming over (outcomes so far, failed remedies, access level): slow,
 * simple, and sharing nothing with `plan`, so that each can check the other. For small problems only.
 * @param cut leave out steps that could not pay even if they told the fault for nothing (changes no result).
 * @param most give up, with null, after this many states.
 */
export function exactNet(problem: Problem, cut = true, most = Number.POSITIVE_INFINITY): number | null {
  const { checks, remedies, stops, access, faults } = problem;
  const memo = new Map<string, number>();
  let states = 0;
  // Hindsight: for each fault the dearest end that exists, at no cost at all.
  const dream = faults.map((_, f) =>
    Math.max(
      ...stops.map((stop) => stop.byFault[f] ?? 0),
      ...remedies.filter((r) => (r.works[f] ?? 0) > 0).map((r) => r.worth - r.cost),
    ),
  );
  const climb = (from: number, to: number): number =>
    access.reduce((sum, cost, k) => (k >= from && k < to ? sum + cost : sum), 0);

  /** Net given that the state was reached; belief sums to 1. */
  const best = (belief: number[], seen: number[], failed: boolean[], level: number): number => {
    const key = `${seen.join()}/${failed.map(Number).join('')}/${level}`;
    const have = memo.get(key);
    if (have !== undefined) return have;
    states++;
    const mean = (values: readonly number[]) => belief.reduce((sum, b, f) => sum + b * (values[f] ?? 0), 0);
    let value = Math.max(...stops.map((stop) => mean(stop.byFault)));
    const hope = mean(dream);
    for (const [r, remedy] of remedies.entries()) {
      if (failed[r] || states > most) continue;
      const cost = remedy.cost + climb(level, remedy.level);
      const works = mean(remedy.works);
      if (works === 0) continue;
      if (cut && hope + remedy.cost - cost <= value) continue;
      let net = works * remedy.worth - cost;
      if (works < 1) {
        const after = belief.map((b, f) => (b * (1 - (remedy.works[f] ?? 0))) / (1 - works));
        const tried = failed.map((was, i) => was || i === r);
        net += (1 - works) * best(after, seen, tried, Math.max(level, remedy.level));
      }
      value = Math.max(value, net);
    }
    for (const [c, check] of checks.entries()) {
      if (seen[c] !== 0 || states > most) continue;
      const cost = check.cost + climb(level, check.level);
      if (cut && hope - cost <= value) continue;
      let net = -cost;
      check.outcomes.forEach((_, o) => {
        const chance = mean(check.given.map((row) => row[o] ?? 0));
        if (chance === 0) return;
        const after = belief.map((b, f) => (b * (check.given[f]?.[o] ?? 0)) / chance);
        const done = seen.map((was, i) => (i === c ? o + 1 : was));
        net += chance * best(after, done, failed, Math.max(level, check.level));
      });
      value = Math.max(value, net);
    }
    memo.set(key, value);
    return value;
  };
  const net = best(
    faults.map((fault) => fault.prior),
    checks.map(() => 0),
    remedies.map(() => false),
    problem.level,
  );
  return states > most ? null : net;
}
