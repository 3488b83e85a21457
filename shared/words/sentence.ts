/** A text cut into clauses, and what each clause says by the rules of the lexicon. */
import type { Lexicon, Match, Meaning, Rule, Unit, WordLanguage } from './lexicon.ts';
import { type Measured, measuresIn, type Price, type Span } from './measures.ts';
import { fold, type Token, tokensOf } from './tokens.ts';

/** So many stems of a clause are read at once. */
const LONGEST_CLAUSE = 30;
/** So much of what a rule asks for has to be said for it to be offered. */
const HALF = 0.5;
/** So many are offered for one place. */
const OFFERED = 3;
/** A rule that has to be asked gives way to one that has not, unless it explains much more. */
const ASKED = 0.6;
/** What each further word between two words of a rule takes off. */
const APART = 0.05;

/** What stands before a clause. */
type Joint = 'end' | 'comma' | 'and' | 'but';

export interface Item {
  /** Senses, or what they are denied as, or a number with its unit. */
  terms: ReadonlySet<string>;
  /** Words it comes from. */
  tokens: readonly number[];
  slip: boolean;
  part: boolean;
}
export interface Clause {
  joint: Joint;
  from: number;
  to: number;
}
export interface Read {
  items: Item[];
  /** Words that the language has not. */
  unknown: number[];
  found: Found[];
}
export interface Found {
  rule: Rule;
  items: readonly Item[];
  /** To be asked though its rule is sure. */
  ask: boolean;
  score: number;
}

export const place = (text: string, from: number, to: number): Span => ({
  text: text.slice(from, to),
  from,
  to,
});

/** How clauses are parted by what stands between two words. */
function partedBy(gap: string): Joint | null {
  if (/[;!?\n\r…()[\]]|\.(?=\s|$)|(?<=\s)[-–—](?=\s)/u.test(gap)) return 'end';
  if (gap.includes(',')) return 'comma';
  return /[&+/]/.test(gap) ? 'and' : null;
}

/** An item as it was found, before it is known whether it is denied. */
interface Expression extends Item {
  denied: boolean;
  verb: boolean;
  place: number;
}
/** A word that denies: what stands before it where `behind`, else what follows. `own` is what it means by itself. */
interface Denial {
  place: number;
  behind: boolean;
  own: ReadonlySet<string>;
  token: number;
}

const isDenial = (role: Match['role'] | undefined): boolean => role === 'not' || role === 'not-behind';

const termAlone = (terms: ReadonlySet<string>, tokens: readonly number[], place: number): Expression => ({
  ...{ terms, tokens, place },
  ...{ slip: false, part: false, denied: false, verb: false },
});

/** Where a denial stands within an expression that begins at `index`, to which it then belongs: "geht nicht an"; -1: nowhere. */
function denialWithin(
  language: WordLanguage,
  units: readonly Unit[],
  at: readonly number[],
  index: number,
): number {
  const last = at.at(-1) ?? index;
  const inner = units
    .slice(index, last)
    .findIndex(
      (_, k) => !at.includes(index + k) && isDenial(language.match(units, index + k, index + k + 1)?.role),
    );
  return inner < 0 ? -1 : index + inner;
}

/** Marks what each denial denies; those that deny nothing and mean something by themselves are given back. */
function deny(found: readonly Expression[], denials: readonly Denial[]): Expression[] {
  return denials.flatMap(({ place: at, behind, own, token }) => {
    const next = found.find((item) => item.place > at && !item.denied);
    const before = found.filter((item) => item.place < at && !item.denied);
    const verb = behind ? before.findLast((item) => item.verb) : undefined;
    const target = verb ?? next ?? before.findLast((item) => item.verb) ?? before.at(-1);
    if (!target) return own.size ? [termAlone(own, [token], at)] : [];
    target.denied = true;
    target.tokens = [...target.tokens, token];
    return [];
  });
}

export class Sentence {
  readonly text: string;
  readonly tokens: readonly Token[];
  readonly measured: readonly Measured[];
  readonly prices: readonly Price[];
  private readonly lexicon: Lexicon;
  /** Of each word, the number or price that it is in. */
  private readonly within: readonly (Measured | Price | undefined)[];

  constructor(lexicon: Lexicon, text: string, language: WordLanguage | undefined) {
    this.lexicon = lexicon;
    this.text = text;
    this.tokens = tokensOf(text);
    const { measured, prices } = language
      ? measuresIn(text, language.measures, fold)
      : { measured: [], prices: [] };
    this.measured = measured;
    this.prices = prices;
    const spans = [...measured, ...prices];
    this.within = this.tokens.map(({ from, to }) => spans.find((span) => span.from < to && from < span.to));
  }

  span(tokens: readonly number[]): Span {
    const from = Math.min(...tokens.map((index) => this.tokens[index]?.from ?? 0));
    const to = Math.max(...tokens.map((index) => this.tokens[index]?.to ?? 0));
    return place(this.text, from, to);
  }
  isNumber(token: number): boolean {
    return this.within[token] !== undefined;
  }

  private unitsOf(language: WordLanguage, from: number, to: number): Unit[] {
    return this.tokens
      .slice(from, to)
      .flatMap(({ word }, index) =>
        this.isNumber(from + index)
          ? [{ stem: '', slip: false, known: true, token: from + index }]
          : language.unitsOf(word).map((unit) => ({ ...unit, token: from + index })),
      );
  }

  /** Where clauses begin: at punctuation, and at words that begin one. */
  clauses(language: WordLanguage): Clause[] {
    const clauses: Clause[] = [];
    let begun: { joint: Joint; from: number } = { joint: 'end', from: 0 };
    const end = (to: number, joint: Joint, next: number) => {
      if (to > begun.from) clauses.push({ ...begun, to });
      // Of two joints without a word between them the stronger holds: ", and".
      const joined = to === begun.from && begun.joint !== 'end' && joint === 'and' ? 'and' : joint;
      begun = { joint: to === begun.from && begun.joint === 'end' ? 'end' : joined, from: next };
    };
    for (let index = 0; index < this.tokens.length; index += 1) {
      const gap = this.text.slice(this.tokens[index - 1]?.to ?? 0, this.tokens[index]?.from ?? 0);
      const same = this.within[index] !== undefined && this.within[index] === this.within[index - 1];
      const parted = index > 0 && !same ? partedBy(gap) : null;
      if (parted) end(index, parted, index);
      else if (index - begun.from >= LONGEST_CLAUSE) end(index, 'comma', index);
      const role = this.isNumber(index) ? undefined : this.roleAt(language, index);
      if (role === 'and' || (role === 'split' && !this.denies(language, index)))
        end(index, role === 'and' ? 'and' : 'but', index + 1);
    }
    end(this.tokens.length, 'end', this.tokens.length);
    return clauses;
  }

  /** "Geht aber nicht an": the verb before it is denied, and nothing new begins. */
  private denies(language: WordLanguage, index: number): boolean {
    if (index === 0 || this.roleAt(language, index + 1) !== 'not-behind') return false;
    const before = this.unitsOf(language, index - 1, index);
    const match = language.match(before, 0, before.length);
    return (
      match?.role === 'skip' || [...(match?.senses ?? [])].some((sense) => this.lexicon.verbs.has(sense))
    );
  }

  private roleAt(language: WordLanguage, index: number): Match['role'] {
    const units = this.unitsOf(language, index, index + 1);
    return units.length === 1 && !units[0]?.slip ? language.match(units, 0, 1)?.role : undefined;
  }

  /** The items of a clause, with denials put to what they deny. */
  items(language: WordLanguage, { from, to }: Clause): { items: Item[]; unknown: number[] } {
    const { found, denials, unknown } = this.expressions(language, this.unitsOf(language, from, to));
    const items = [...found, ...deny(found, denials)].map(({ terms, tokens, slip, part, denied }) => ({
      terms: denied ? denyAll(terms) : terms,
      tokens,
      slip,
      part: part && !denied,
    }));
    return { items, unknown };
  }

  /** The expressions of a clause in their order, its denials, and the words that the language has not. */
  private expressions(language: WordLanguage, units: readonly Unit[]) {
    const found: Expression[] = [];
    const denials: Denial[] = [];
    const unknown: number[] = [];
    const passed = new Set<number>();
    for (let index = 0; index < units.length; index += 1) {
      const unit = units[index];
      if (!unit || passed.has(index)) continue;
      const number = this.within[unit.token];
      if (number) {
        const same = units.flatMap((one, at) => (this.within[one.token] === number ? [at] : []));
        for (const one of same) passed.add(one);
        const tokens = same.map((one) => units[one]?.token ?? unit.token);
        if ('unit' in number) found.push(termAlone(new Set([`#${number.unit}`]), tokens, index));
        continue;
      }
      const match = language.match(units, index, units.length);
      if (!match) {
        if (!unit.known) unknown.push(unit.token);
        continue;
      }
      for (const at of match.at) passed.add(at);
      if (isDenial(match.role)) {
        const behind = match.role === 'not-behind';
        denials.push({ place: index, behind, own: match.senses, token: unit.token });
        continue;
      }
      if (match.senses.size === 0) continue;
      const inner = denialWithin(language, units, match.at, index);
      if (inner >= 0) passed.add(inner);
      found.push(this.expression(match, units, index, inner >= 0));
    }
    return { found, denials, unknown };
  }

  private expression(match: Match, units: readonly Unit[], index: number, denied: boolean): Expression {
    const first = units[index]?.token ?? 0;
    return {
      terms: match.senses,
      tokens: [...new Set(match.at.map((at) => units[at]?.token ?? first))],
      slip: match.at.some((at) => units[at]?.slip),
      part: [...match.senses].some((sense) => this.lexicon.parts.has(sense)),
      denied,
      verb: [...match.senses].some((sense) => this.lexicon.verbs.has(sense)),
      place: index,
    };
  }

  /** The items for each term of a rule, each another one and as near as can be; null where one is missing. */
  private assign(rule: Rule, items: readonly Item[]): Item[] | null {
    const places = rule.terms.map((term) => items.flatMap(({ terms }, at) => (terms.has(term) ? [at] : [])));
    const order = places.map((list, term) => ({ list, term })).sort((a, b) => a.list.length - b.list.length);
    const taken: number[] = [];
    for (const { list } of order) {
      const free = list.filter((at) => !taken.includes(at));
      const near = (at: number) => (taken.length ? Math.min(...taken.map((one) => Math.abs(one - at))) : 0);
      // Of two as near the later: what is said of a part more often follows it.
      const [best] = free.sort((a, b) => near(a) - near(b) || b - a);
      if (best === undefined) return null;
      taken.push(best);
    }
    return taken.sort((a, b) => a - b).flatMap((at) => items[at] ?? []);
  }

  /** Rules that are said in full, the one that tells most first. */
  private full(items: readonly Item[]): Found[] {
    const terms = new Set(items.flatMap((item) => [...item.terms]));
    return this.lexicon.rules
      .near(terms)
      .flatMap(({ rule, shared }) => {
        if (shared.size < rule.terms.length) return [];
        const assigned = this.assign(rule, items);
        if (!assigned) return [];
        const words = new Set(assigned.flatMap(({ tokens }) => tokens));
        const between = Math.max(...words) - Math.min(...words) + 1 - words.size;
        return [
          {
            rule,
            items: assigned,
            ask: rule.sure.length === 0 || (rule.terms.length === 1 && assigned.some(({ slip }) => slip)),
            score: rule.weight * Math.max(HALF, 1 - APART * between) * (rule.sure.length ? 1 : ASKED),
          },
        ];
      })
      .sort((a, b) => b.score - a.score || Number(a.ask) - Number(b.ask));
  }

  /**
   * Takes the rule that tells most, and so on with what is left. A part can have several things said of it; what is said of one
   * part is not said of another.
   */
  pick(items: readonly Item[], taken: Set<Item>, accept: (found: Found) => boolean): Found[] {
    const picked: Found[] = [];
    for (const one of this.full(items)) {
      if (!accept(one)) continue;
      const fresh = one.items.filter((item) => !taken.has(item));
      if (fresh.length === 0 || one.items.some((item) => taken.has(item) && !item.part)) continue;
      picked.push(one);
      for (const item of one.items) taken.add(item);
    }
    return picked;
  }

  /** Rules of which half is said, for a clause in which none is said in full. */
  partly(items: readonly Item[]): { meanings: Meaning[]; items: Item[] } | null {
    const terms = new Set(items.flatMap((item) => [...item.terms]));
    const near = this.lexicon.rules
      .near(terms)
      .map(({ rule, shared }) => {
        const said = [...shared].reduce((sum, term) => sum + this.lexicon.rules.weightOf(term), 0);
        return { rule, shared, share: said / rule.weight, said };
      })
      .filter(({ rule, share }) => share > HALF && rule.terms.length > 1)
      .sort((a, b) => b.said * b.share - a.said * a.share)
      .slice(0, 2 * OFFERED);
    const meanings = distinct(near.flatMap(({ rule }) => [...rule.sure, ...rule.asked])).filter(
      ({ kind }) => kind === 'symptom' || kind === 'damage',
    );
    const used = items.filter((item) =>
      near.some(({ shared }) => [...item.terms].some((term) => shared.has(term))),
    );
    return meanings.length ? { meanings: meanings.slice(0, OFFERED), items: used } : null;
  }
}

const denyAll = (terms: ReadonlySet<string>): ReadonlySet<string> =>
  new Set(
    [...terms].map((term) =>
      term.startsWith('!') ? term.slice(1) : term.startsWith('#') ? term : `!${term}`,
    ),
  );

export function distinct(meanings: readonly Meaning[]): Meaning[] {
  const seen = new Set<string>();
  return meanings.filter(({ kind, id }) => {
    const key = `${kind} ${id}`;
    const fresh = !seen.has(key);
    seen.add(key);
    return fresh;
  });
}

/** Parts and nothing that is said of them. */
const bare = ({ items }: Read): boolean => items.length > 0 && items.every(({ part }) => part);
const onlyParts = (found: Found): boolean => found.items.every(({ part }) => part);

/** Several findings about the same words as one: asked, unless they come to the same. */
function either(found: readonly Found[]): Found {
  const asked = distinct(found.flatMap(({ rule }) => rule.sure));
  const terms = [...new Set(found.flatMap(({ rule }) => rule.terms))];
  const score = Math.max(...found.map((one) => one.score));
  return {
    rule: { terms, weight: score, sure: asked.length === 1 ? asked : [], asked },
    items: [...new Set(found.flatMap(({ items }) => items))],
    ask: asked.length > 1,
    score,
  };
}

/** Reads each clause by itself, then what is said of several things at once. */
export function readClauses(
  sentence: Sentence,
  language: WordLanguage,
): { clause: Clause; read: Read; used: Set<Item> }[] {
  const reads = sentence.clauses(language).map((clause) => {
    const { items, unknown } = sentence.items(language, clause);
    const used = new Set<Item>();
    const read: Read = { items, unknown, found: [] };
    read.found.push(...sentence.pick(items, used, (found) => !onlyParts(found)));
    return { clause, read, used };
  });
  /** The clauses that name parts around one, and nothing that is said of them. */
  const run = (at: number) => {
    let from = at;
    let to = at;
    for (let one = reads[from - 1]; one && bare(one.read); one = reads[from - 1]) from -= 1;
    for (let one = reads[to + 1]; one && bare(one.read); one = reads[to + 1]) to += 1;
    return { from, to };
  };
  const joined = (from: number, to: number) => {
    const joints = reads.slice(from, to + 1).map(({ clause }) => clause.joint);
    return joints.every((joint) => joint === 'and' || joint === 'comma') && joints.includes('and');
  };
  for (const [at, { read, used }] of reads.entries()) {
    // "Mic and port not working", "screen, battery and port replaced", "cracked screen and button".
    if (bare(read)) {
      const { from, to } = run(at);
      const donors = [...(joined(from + 1, to + 1) ? [to + 1] : []), ...(joined(from, to) ? [from - 1] : [])];
      for (const donor of donors) {
        const said = reads[donor]?.read.items.filter(({ part }) => !part) ?? [];
        if (said.length === 0) continue;
        const both = [...read.items, ...said];
        const found = sentence
          .pick(
            both,
            new Set(used),
            (one) => !onlyParts(one) && one.items.some((item) => read.items.includes(item)),
          )
          .filter(({ ask }) => !ask);
        if (found.length === 0) continue;
        read.found.push(
          ...found.map((one) => ({ ...one, items: one.items.filter((item) => read.items.includes(item)) })),
        );
        for (const item of read.items) used.add(item);
        break;
      }
    }
    // "Screen black and flickers", "faulty screen, needs replacing", "camera opens but no picture".
    const before = reads[at - 1];
    const own = read.items.length > 0 && !read.items.some(({ part }) => part);
    if (own && before && reads[at]?.clause.joint !== 'end') {
      const parts = before.read.items.filter(({ part }) => part);
      const found = sentence
        .pick(
          [...parts, ...read.items],
          new Set(),
          (one) => one.items.some(({ part }) => part) && !onlyParts(one),
        )
        .filter(({ ask }) => !ask);
      // What was found without the part stays, unless the part makes more of the same words.
      const more = ({ rule }: Found) =>
        found.some((one) => rule.terms.every((term) => one.rule.terms.includes(term)));
      const joint = reads[at]?.clause.joint;
      if (found.length === 0 || !read.found.every((one) => one.ask || (joint !== 'comma' && more(one))))
        continue;
      const plain = read.found.filter(({ ask }) => !ask);
      const whole = found.map((one) => ({
        ...one,
        items: one.items.filter((item) => read.items.includes(item)),
      }));
      // "Screen cracked and dead": the phone or the screen.
      read.found = joint === 'and' && plain.length ? [either([...whole, ...plain])] : whole;
      for (const item of read.items) used.add(item);
    }
  }
  for (const { read, used } of reads) read.found.push(...sentence.pick(read.items, used, onlyParts));
  return reads;
}
