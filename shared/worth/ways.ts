/**
 * A way of dealing with a phone as a small tree: steps that take money and minutes, and ends with what is sold. It is all
 * that a verdict needs to know of a plan.
 */
import type { LogStudentT } from '../market/value.ts';

/** A step of the work. Money in major units. */
export interface PlanStep {
  kind: 'step';
  /** A check, a remedy, opening: whatever the caller calls it. */
  id: string;
  /** Spent at this step: parts, consumables, a fee. */
  cash: number;
  /** Bench minutes of this step. */
  minutes: number;
  /** What can come of it; chances given that the step is reached, which sum to 1. */
  outcomes: readonly { id: string; chance: number; next: PlanNode }[];
}

/** How it ends. */
export interface End {
  kind: 'end';
  id: string;
  /** The phone works at the end. */
  restored: boolean;
  /** Spent at the end itself, such as a fee for handing it over. */
  cash: number;
  minutes: number;
  /** What is sold, before the cost of selling: the phone, or what is in it; null: nothing. */
  sale: LogStudentT | null;
}

export type PlanNode = PlanStep | End;

/** One way that it can end, whatever led there. */
export interface Outcome {
  /** Chances of all outcomes of a way sum to 1. */
  chance: number;
  /** Money spent besides the price. */
  cash: number;
  minutes: number;
  sale: LogStudentT | null;
  restored: boolean;
}

/** A point at which money is put in, after what was learnt before it. */
export interface Gate {
  /** 1 for the first money on the way. */
  number: number;
  /** Chance of getting there. */
  chance: number;
  /** Means, given that one gets there: bench minutes and money until then. */
  minutesBefore: number;
  cashBefore: number;
  /** What is put in here, mean; over all steps that can be this gate. */
  cash: number;
  /** Chance that the phone works in the end, given that the money is put in. */
  restored: number;
  /** The steps that can be this gate, likeliest first, with their chance given that the gate is reached. */
  steps: { id: string; chance: number; cash: number }[];
}

/** Chances are told apart down to this. */
const CHANCE_DIGITS = 1e-9;
/** A way is to look first where at least this share of it stops without money having been put in. Chosen. */
const LOOKS = 0.05;

/** The outcomes of a plan; those with the same money, minutes and sale are one. Throws RangeError for chances that do not sum to 1. */
export function outcomesOf(plan: PlanNode): Outcome[] {
  const found = new Map<string, Outcome>();
  walk(plan, ({ chance, cash, minutes, end }) => {
    const { sale, restored } = end;
    const key = JSON.stringify([Math.round(cash * 1e6), Math.round(minutes * 1e6), sale, restored]);
    const same = found.get(key);
    if (same) same.chance += chance;
    else found.set(key, { chance, cash, minutes, sale, restored });
  });
  return [...found.values()];
}

/**
 * The points at which money is put in, in their order along the way: what is at stake at each, and what has been seen by
 * then. Where other answers lead to other parts, the gate is all of them together.
 */
export function gatesOf(plan: PlanNode): Gate[] {
  interface Sums {
    chance: number;
    minutes: number;
    before: number;
    cash: number;
    restored: number;
    steps: Map<string, { chance: number; cash: number }>;
  }
  const gates: Sums[] = [];
  walk(plan, ({ chance, end, spends }) => {
    for (const [at, spend] of spends.entries()) {
      gates[at] ??= { chance: 0, minutes: 0, before: 0, cash: 0, restored: 0, steps: new Map() };
      const gate = gates[at];
      gate.chance += chance;
      gate.minutes += chance * spend.minutes;
      gate.before += chance * spend.before;
      gate.cash += chance * spend.cash;
      gate.restored += end.restored ? chance : 0;
      const step = gate.steps.get(spend.id) ?? { chance: 0, cash: 0 };
      step.chance += chance;
      step.cash += chance * spend.cash;
      gate.steps.set(spend.id, step);
    }
  });
  return gates.map((gate, at) => ({
    number: at + 1,
    chance: gate.chance,
    minutesBefore: gate.minutes / gate.chance,
    cashBefore: gate.before / gate.chance,
    cash: gate.cash / gate.chance,
    restored: gate.restored / gate.chance,
    steps: [...gate.steps]
      .map(([id, step]) => ({ id, chance: step.chance / gate.chance, cash: step.cash / step.chance }))
      .sort((a, b) => b.chance - a.chance || (a.id < b.id ? -1 : 1)),
  }));
}

/** True where the plan is to look first: it may well stop, with the phone not working, before any money is put in. */
export function looksFirst(plan: PlanNode): boolean {
  let stops = 0;
  walk(plan, ({ chance, end, spends }) => {
    if (spends.length === 0 && !end.restored) stops += chance;
  });
  return stops >= LOOKS;
}

interface Path {
  chance: number;
  cash: number;
  minutes: number;
  end: End;
  /** Steps that cost money, with the minutes and money before each. */
  spends: readonly Spend[];
}
interface Spend {
  id: string;
  cash: number;
  minutes: number;
  before: number;
}

function walk(plan: PlanNode, visit: (path: Path) => void): void {
  const go = (
    node: PlanNode,
    chance: number,
    cash: number,
    minutes: number,
    spends: readonly Spend[],
  ): void => {
    if (!(chance > 0)) return;
    const spent =
      node.cash > 0 ? [...spends, { id: node.id, cash: node.cash, minutes, before: cash }] : spends;
    const [cashAfter, minutesAfter] = [cash + node.cash, minutes + node.minutes];
    if (node.kind === 'end') {
      visit({ chance, cash: cashAfter, minutes: minutesAfter, end: node, spends: spent });
      return;
    }
    const total = node.outcomes.reduce((sum, outcome) => sum + outcome.chance, 0);
    if (Math.abs(total - 1) > CHANCE_DIGITS)
      throw new RangeError(`the chances after ${node.id} sum to ${total}, not 1`);
    for (const { chance: share, next } of node.outcomes)
      go(next, chance * share, cashAfter, minutesAfter, spent);
  };
  go(plan, 1, 0, 0, []);
}
