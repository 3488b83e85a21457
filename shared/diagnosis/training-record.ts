/** What a closed job teaches. */
import type { Knowledge } from '../../knowledge/load.ts';

/** A share of a job below this is not counted. */
const LEAST_SHARE = 0.005;

type Shares = readonly { readonly fault: { readonly id: string }; readonly share: number }[];

export interface TrainingQuestion {
  knowledge: Pick<Knowledge, 'remedies'>;
  /** P(present) of each fault at the end, by the pack's own odds: odds that guesses have moved drift away with them. */
  odds: Shares;
  /** The remedies that made something go, each with what it may have removed (`mended` of a belief over sets). */
  mended?: readonly { readonly remedy: string; readonly shares: Shares }[];
  /** Outcomes that were seen, and remedies that changed nothing (`failed`). */
  seen: readonly { readonly id: string; readonly outcome: string }[];
  /** The fault that it was; null when nobody knows. */
  fault: string | null;
  /** A remedy that is said to have mended it, where nobody said what went. */
  remedy: string | null;
}

/**
 * A job with a known fault counts as one of it, and of whatever else was mended besides. One without counts for each remedy
 * that made something go as one fault of those that it may have removed, by their odds; that a remedy worked does not tell
 * which of its faults it was. Where nothing was mended the job counts as one by its odds after all that was seen. Jobs that
 * were stripped or passed on teach so too: counting confirmed ones alone is verification bias (Begg & Greenes 1983). Null
 * when it teaches nothing: no fault known, and no check done that could tell one from another.
 */
export function trainingRecordOf({
  knowledge,
  odds,
  mended = [],
  seen,
  fault,
  remedy,
}: TrainingQuestion): TrainingRecord | null {
  if (fault === null && seen.length === 0 && mended.length === 0) return null;
  const claims = mended.length
    ? mended.map((one) => ({ remedy: one.remedy, shares: normalised(one.shares) }))
    : [{ remedy, shares: guessesOf(knowledge, odds, remedy) }];
  const told = [
    { remedy: claims.find(has(fault))?.remedy ?? (mended.length ? null : remedy), shares: shareOf(fault) },
  ];
  const counted =
    fault === null
      ? claims
      : [...told, ...(mended.length ? claims.filter((claim) => !has(fault)(claim)) : [])];
  const faults = new Map<string, number>();
  for (const { shares } of counted)
    for (const [id, share] of shares) faults.set(id, (faults.get(id) ?? 0) + share);
  const total = [...faults.values()].reduce((sum, share) => sum + share, 0);
  if (total === 0) return null;
  return {
    faults: [...faults],
    outcomes: [
      // What was seen is shared by what was there, as one of each.
      ...[...faults].flatMap(([id, n]) =>
        seen.map((step) => [step.id, id, step.outcome, n / total] as const),
      ),
      ...counted.flatMap((claim) =>
        claim.remedy === null
          ? []
          : claim.shares.map(([id, share]) => [claim.remedy ?? '', id, 'works', share] as const),
      ),
    ],
  };
}

interface Claim {
  remedy: string | null;
  shares: readonly (readonly [string, number])[];
}
const has =
  (fault: string | null) =>
  ({ shares }: Claim): boolean =>
    shares.some(([id]) => id === fault);
const shareOf = (fault: string | null): Claim['shares'] => (fault === null ? [] : [[fault, 1]]);

/** Shares of the faults that it may have been, of those that the remedy can mend where one has. */
function guessesOf(
  { remedies }: TrainingQuestion['knowledge'],
  odds: Shares,
  remedy: string | null,
): Claim['shares'] {
  const works = remedy === null ? undefined : remedies.get(remedy)?.works;
  const mends = odds.map(({ fault, share }) => ({ fault, share: share * (works?.[fault.id] ?? 0) }));
  return normalised(mends.some(({ share }) => share > 0) ? mends : odds);
}

/** As shares of one, without those too small to count. */
function normalised(shares: Shares): Claim['shares'] {
  const total = shares.reduce((sum, { share }) => sum + share, 0);
  const kept = shares.filter(({ share }) => share >= LEAST_SHARE * total);
  const held = kept.reduce((sum, { share }) => sum + share, 0);
  return held > 0 ? kept.map(({ fault, share }) => [fault.id, share / held] as const) : [];
}

/** What one job teaches. */
export interface TrainingRecord {
  faults: readonly (readonly [fault: string, n: number])[];
  outcomes: readonly (readonly [step: string, fault: string, outcome: string, n: number])[];
}
