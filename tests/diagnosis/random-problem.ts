import type { Problem } from '../oracles/one-fault/problem.ts';

/** A seeded stream of numbers in 0..1: mulberry32, a public-domain 32-bit generator. */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export interface Size {
  readonly faults: number;
  readonly checks: number;
  readonly remedies: number;
}

/**
 * An invented fault-tracing problem of bench-like shape: very uneven priors, as after symptoms, checks that answer for a group of faults
 * with a floor under every chance, remedies for one to three faults, most work with the phone open.
 */
export function randomProblem(seed: number, size: Size): Problem {
  const random = seeded(seed * 7919 + 17);
  const between = (low: number, high: number) => low + (high - low) * random();
  const weights = Array.from({ length: size.faults }, () => random() ** 5 + 0.003);
  const sum = weights.reduce((a, b) => a + b, 0);
  const levelOf = () => (random() < 0.3 ? 0 : random() < 0.8 ? 1 : 2);
  const worth = between(80, 250);
  return {
    faults: weights.map((weight, f) => ({ id: `f${f}`, prior: weight / sum })),
    checks: Array.from({ length: size.checks }, (_, c) => {
      const count = 2 + Math.floor(random() ** 2 * 4);
      // Each outcome has a base chance; each fault leans towards one outcome, more or less strongly.
      const base = Array.from({ length: count }, () => between(0.2, 1));
      const given = weights.map(() => {
        const lean = Math.floor(random() * count);
        const strength = random() < 0.3 ? 0 : between(1, 25);
        const row = base.map((b, o) => b + (o === lean ? strength : 0) + 0.02);
        const total = row.reduce((a, b) => a + b, 0);
        return row.map((x) => x / total);
      });
      return {
        id: `c${c}`,
        cost: between(0.5, 12),
        level: levelOf(),
        outcomes: Array.from({ length: count }, (_, o) => `o${o}`),
        given,
      };
    }),
    remedies: Array.from({ length: size.remedies }, (_, r) => {
      const works = new Array<number>(size.faults).fill(0);
      works[r % size.faults] = between(0.5, 1);
      for (let extra = Math.floor(random() * 3); extra > 0; extra--)
        works[Math.floor(random() * size.faults)] = between(0.2, 1);
      return { id: `r${r}`, cost: between(5, 60), level: levelOf(), worth: worth * between(0.8, 1), works };
    }),
    access: [between(2, 15), between(4, 25)],
    level: 0,
    stops: [
      { id: 'strip', byFault: weights.map(() => between(5, 0.35 * worth)) },
      { id: 'pass', byFault: weights.map(() => 0) },
    ],
  };
}
