/** At the seller's table: the few short checks whose answers move the highest price most, asked again after each answer. */

/** Answers so far: the outcome of each check done, by its id. */
export type Answers = ReadonlyMap<string, string>;

interface TableCheck {
  id: string;
  minutes: number;
  /** Chances given the answers so far; they sum to 1. */
  outcomes: readonly { id: string; chance: number }[];
}

/** What is known after some answers. */
interface TableState {
  /** The highest price worth paying, major units; null: not even as a gift. */
  highest: number | null;
  /** Checks that can still be done at a table: closed, without tools, without hazard. */
  checks: readonly TableCheck[];
}

/** A phone on the table: all that is needed of the rest of the program. `after` is asked some hundred times. */
export interface Table {
  after(answers: Answers): TableState;
}

export interface TableChoice {
  id: string;
  minutes: number;
  /** By how much it is expected to move the highest price, either way, once those listed before it are known. Major units. */
  moves: number;
  /** Chance that its answer turns whether the phone is worth the price asked. */
  turns: number;
  /** Where the highest price goes with each answer. */
  outcomes: { id: string; chance: number; highest: number | null }[];
}

/** Nothing longer is done at a table. */
export const TABLE_MINUTES = 1;
const MOST = 5;
/** Of so many that move it most alone, the ones that tell the same thing twice are sorted out. Chosen, for time. */
const CANDIDATES = 9;

/**
 * The highest price as it stands, and the checks to do next, most telling first. The first one moves the highest price most
 * (expected absolute change; one step of the value of information, Howard, IEEE Trans. SSC 2, 1966, 22). Each further one
 * is taken at what it still moves once any one of those before it is known, so that no two tell the same thing; one that
 * would move nothing to the unit is not listed. Pure: the same table gives the same list.
 * @param price asked, major units. @param unit the smallest amount that is told apart.
 */
export function tableChecks(
  table: Table,
  answers: Answers,
  { price, unit }: { price: number; unit: number },
): { highest: number | null; checks: TableChoice[] } {
  const kept = new Map<string, TableState>();
  const after = (known: Answers): TableState => {
    const key = JSON.stringify([...known].sort());
    const state = kept.get(key) ?? table.after(known);
    kept.set(key, state);
    return state;
  };
  const now = after(answers);
  /** Expected absolute change of the highest price by a check, in a state. */
  const moved = (known: Answers, id: string): number => {
    const state = after(known);
    const check = state.checks.find((one) => one.id === id);
    if (!check) return 0;
    return check.outcomes.reduce(
      (sum, outcome) =>
        sum +
        outcome.chance * Math.abs(worth(after(also(known, id, outcome.id)).highest) - worth(state.highest)),
      0,
    );
  };
  const pays = ({ highest }: TableState) => highest !== null && price <= highest + 1e-9;
  const choices = now.checks
    .filter(({ minutes, id }) => minutes <= TABLE_MINUTES && !answers.has(id))
    .map((check): TableChoice => {
      const states = check.outcomes.map((outcome) => ({
        ...outcome,
        state: after(also(answers, check.id, outcome.id)),
      }));
      return {
        id: check.id,
        minutes: check.minutes,
        moves: moved(answers, check.id),
        turns: states.reduce((sum, { chance, state }) => sum + (pays(state) === pays(now) ? 0 : chance), 0),
        outcomes: states.map(({ id, chance, state }) => ({ id, chance, highest: state.highest })),
      };
    })
    .filter(({ moves }) => moves >= unit)
    .sort(byMoves)
    .slice(0, CANDIDATES);

  const checks: TableChoice[] = [];
  let left = choices;
  while (left.length && checks.length < MOST) {
    const [best, ...rest] = left;
    if (!best || best.moves < unit) break;
    checks.push(best);
    // What each of the others still moves, in the mean over the answers to this one.
    left = rest
      .map((other) => ({
        ...other,
        moves: Math.min(
          other.moves,
          best.outcomes.reduce(
            (sum, { id, chance }) =>
              chance > 0 ? sum + chance * moved(also(answers, best.id, id), other.id) : sum,
            0,
          ),
        ),
      }))
      .sort(byMoves);
  }
  return { highest: now.highest, checks };
}

/** The highest price as an amount: what is not worth having as a gift is worth nothing. */
const worth = (highest: number | null): number => highest ?? 0;
const also = (known: Answers, check: string, outcome: string): Answers => new Map(known).set(check, outcome);
const byMoves = (a: TableChoice, b: TableChoice): number => b.moves - a.moves || (a.id < b.id ? -1 : 1);
