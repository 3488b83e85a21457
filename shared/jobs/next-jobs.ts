/** Which jobs to do with the hours there are: the set that brings most, and the order to do it in. */

export interface BenchJob {
  number: number;
  /** Bench minutes that are left, at least 1. */
  minutes: number;
  /** What finishing it is expected to bring from here on, in any unit: money, or phones back in use. Not negative. */
  gain: number;
}

/**
 * The jobs that fit into `minutes` and bring most together, exactly: the 0-1 knapsack by dynamic programming over whole
 * minutes (R. Bellman, Dynamic Programming, 1957). They are done by gain a minute, the highest first, which leaves most done
 * when the time is cut short (W. E. Smith, Naval Research Logistics Quarterly 3, 1956: weight over time). Of two sets that
 * bring the same, the one with less work.
 * @param jobs at most some hundreds; the work is their number times the minutes.
 */
export function chooseJobs<J extends BenchJob>(jobs: readonly J[], minutes: number): J[] {
  const room = Math.max(0, Math.floor(minutes));
  const fitting = jobs.filter((job) => job.gain > 0 && whole(job) <= room);
  // best[m]: the most that can be gained in m minutes with the jobs so far; taken[k][m]: whether job k is in that.
  const best = new Float64Array(room + 1);
  const taken = fitting.map((job) => {
    const row = new Uint8Array(room + 1);
    const length = whole(job);
    for (let m = room; m >= length; m -= 1) {
      const with_ = (best[m - length] ?? 0) + job.gain;
      if (with_ > (best[m] ?? 0) + 1e-12) {
        best[m] = with_;
        row[m] = 1;
      }
    }
    return row;
  });
  // The fewest minutes that bring as much.
  let left = best.findIndex((gain) => gain >= (best[room] ?? 0) - 1e-9);
  const chosen: J[] = [];
  for (let k = fitting.length - 1; k >= 0; k -= 1) {
    const job = fitting[k];
    if (job && taken[k]?.[left]) {
      chosen.push(job);
      left -= whole(job);
    }
  }
  return chosen.sort((a, b) => b.gain / b.minutes - a.gain / a.minutes || a.number - b.number);
}
const whole = ({ minutes }: BenchJob): number => Math.max(1, Math.ceil(minutes));
