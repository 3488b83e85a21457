/**
 * How the rows of a check combine when several faults are present: noisy-MAX (Díez 1993). Outcomes stand from nothing
 * wrong to most wrong; each fault on its own would give some outcome, and the most wrong of them is what is seen.
 */

/** Below this a fall of F_i / F_0 is rounding. */
const ROUNDING = 1e-9;

/** P(outcome <= o) for each o: the distribution function of a row. */
export function cumulative(row: readonly number[]): number[] {
  let sum = 0;
  return row.map((chance) => {
    sum += chance;
    return sum;
  });
}

/**
 * The row of a set of faults: F_S(o) = F_0(o) prod F_i(o) / F_0(o), with F_0 the row where nothing is wrong. One row comes
 * back as it is, none gives `otherwise`. Where the rows are no valid noisy-MAX, F_S is held from falling.
 * @param otherwise chances where nothing that counts is wrong, one an outcome, from nothing wrong to most wrong.
 * @param rows the same for each fault of the set.
 */
export function noisyMaxRow(otherwise: readonly number[], rows: readonly (readonly number[])[]): number[] {
  if (rows.length === 0) return [...otherwise];
  const [only] = rows;
  if (rows.length === 1 && only !== undefined) return [...only];
  const none = cumulative(otherwise);
  const each = rows.map(cumulative);
  let before = 0;
  return none.map((f0, o) => {
    let f = f0;
    for (const one of each) f *= f0 > 0 ? (one[o] ?? 0) / f0 : (one[o] ?? 0);
    const reached = o === none.length - 1 ? 1 : Math.min(1, Math.max(before, f));
    const chance = reached - before;
    before = reached;
    return chance;
  });
}

/**
 * How far a row is from a part of a noisy-MAX: the greatest fall of F_i / F_0 from one outcome to a later one, 0 where it
 * is valid. F_i / F_0 has to be a distribution function itself.
 */
export function noisyMaxFall(otherwise: readonly number[], row: readonly number[]): number {
  const none = cumulative(otherwise);
  const own = cumulative(row);
  let highest = 0;
  let fall = 0;
  none.forEach((f0, o) => {
    const f = own[o] ?? 0;
    const ratio = f0 > 0 ? f / f0 : f > 0 ? Number.POSITIVE_INFINITY : 0;
    fall = Math.max(fall, highest - ratio);
    highest = Math.max(highest, ratio);
  });
  return fall > ROUNDING ? fall : 0;
}
