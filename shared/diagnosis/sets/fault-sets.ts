/** All sets of up to three of n faults, numbered: the empty set, the single ones, the pairs, the triples. */

/** Most faults that are held present at once. */
export const MOST_PRESENT = 3;

export class FaultSets {
  /** Number of faults. */
  readonly faults: number;
  /** Size of the largest set, 1..3. */
  readonly most: number;
  /** Number of sets, the empty one included. */
  readonly count: number;
  /** How many faults each set has. */
  readonly size: Uint8Array;
  /** Their places, ascending; -1 where a set has fewer. */
  readonly first: Int16Array;
  readonly second: Int16Array;
  readonly third: Int16Array;
  /** Number of the first pair and of the first triple whose lowest fault is i. */
  readonly #pairs: Int32Array;
  readonly #triples: Int32Array;

  /** @throws RangeError unless there are 1 or more faults and `most` is 1, 2 or 3. */
  constructor(faults: number, most: number) {
    if (!(faults >= 1)) throw new RangeError(`needs at least one fault, not ${faults}`);
    if (!(Number.isInteger(most) && most >= 1 && most <= MOST_PRESENT))
      throw new RangeError(`sets of up to ${most} faults: wanted 1 to ${MOST_PRESENT}`);
    const n = faults;
    this.faults = n;
    this.most = most;
    const pairs = most >= 2 ? (n * (n - 1)) / 2 : 0;
    const triples = most >= 3 ? (n * (n - 1) * (n - 2)) / 6 : 0;
    this.count = 1 + n + pairs + triples;
    this.size = new Uint8Array(this.count);
    this.first = new Int16Array(this.count).fill(-1);
    this.second = new Int16Array(this.count).fill(-1);
    this.third = new Int16Array(this.count).fill(-1);
    this.#pairs = new Int32Array(n);
    this.#triples = new Int32Array(n);
    let at = 1;
    for (let i = 0; i < n; i++) this.#set(at++, i, -1, -1);
    for (let i = 0; most >= 2 && i < n; i++) {
      this.#pairs[i] = at;
      for (let j = i + 1; j < n; j++) this.#set(at++, i, j, -1);
    }
    for (let i = 0; most >= 3 && i < n; i++) {
      this.#triples[i] = at;
      for (let j = i + 1; j < n; j++) for (let k = j + 1; k < n; k++) this.#set(at++, i, j, k);
    }
  }

  #set(at: number, i: number, j: number, k: number): void {
    this.first[at] = i;
    this.second[at] = j;
    this.third[at] = k;
    this.size[at] = k >= 0 ? 3 : j >= 0 ? 2 : 1;
  }

  /** The faults of a set, ascending. */
  members(set: number): number[] {
    return [this.first[set] ?? -1, this.second[set] ?? -1, this.third[set] ?? -1].filter((i) => i >= 0);
  }

  /** The number of the set of these faults, which must be ascending and at most `most`. */
  indexOf(members: readonly number[]): number {
    return this.indexOfThree(members[0] ?? -1, members[1] ?? -1, members[2] ?? -1);
  }

  /** The same from up to three faults, ascending; -1 stands for none, anywhere. */
  indexOfThree(a: number, b: number, c: number): number {
    const i = a >= 0 ? a : b >= 0 ? b : c;
    if (i < 0) return 0;
    const j = a >= 0 ? (b >= 0 ? b : c) : b >= 0 ? c : -1;
    if (j < 0) return 1 + i;
    if (a < 0 || b < 0 || c < 0) return (this.#pairs[i] ?? 0) + (j - i - 1);
    // Pairs (j, c) above i, in order: those whose lower one is below j come first.
    const below = j - i - 1;
    const before = below * (this.faults - i - 1) - (below * (below + 1)) / 2;
    return (this.#triples[i] ?? 0) + before + (c - j - 1);
  }
}

const made = new Map<string, FaultSets>();

/** The same numbers give the same object: the tables take a while to fill. */
export function faultSets(faults: number, most: number): FaultSets {
  const key = `${faults}/${most}`;
  const found = made.get(key) ?? new FaultSets(faults, most);
  made.set(key, found);
  return found;
}
