/**
 * A message: what is to be read, before it is known in which language. It is made of an English text, which is its id, and
 * of what is put in; `render` writes it out. A plain string is no message, so that a text that nobody can translate is a
 * type error.
 */

/** What can be put into a message. A number is written as the locale writes it, without grouping. */
export type Part = Message | number | '';

/** What is shown of an instant: its day, or its day of the week, day and time. */
export type InstantParts = 'day' | 'day and time';

export type MessageContent =
  /** The English text, with {0}, {1} ... for what is put in. */
  | { kind: 'text'; english: string; parts: readonly Part[] }
  /** {0} is the count; the language's plural rule picks the form. */
  | { kind: 'counted'; one: string; many: string; count: number; parts: readonly Part[] }
  /** The same in every language: names, people's own words, what is typed. */
  | { kind: 'verbatim'; text: string }
  /** A text of the knowledge pack, with {name} for what is put in. */
  | { kind: 'pack'; english: string; holes: Readonly<Record<string, Part>> }
  | { kind: 'list'; items: readonly Message[]; type: 'conjunction' | 'disjunction' }
  | { kind: 'joined'; parts: readonly Part[]; between: string }
  /** `inside` a sentence English writes a name small, German does not; at its `start` both write a capital. */
  | { kind: 'cased'; text: Message; where: 'inside' | 'start' }
  /** The words of another message, changed as text: escaped for where they go. */
  | { kind: 'mapped'; text: Message; map: (text: string) => string }
  /** A moment that has happened or will: a surface may draw it in the reader's own zone; `words` are in the collective's. */
  | { kind: 'instant'; at: Date; shows: InstantParts; words: Message }
  /** What Intl writes: dates, amounts, shares. */
  | { kind: 'formatted'; write: (locale: string) => string };

/** A document before it is put into words: each free text in it is a message. */
export type Unrendered<T> = T extends string
  ? string extends T
    ? Message
    : T
  : T extends readonly (infer U)[]
    ? Unrendered<U>[]
    : T extends object
      ? { [K in keyof T]: Unrendered<T[K]> }
      : T;

export class Message {
  /** Nominal: an object of the same shape is no message. */
  readonly #made = true;
  readonly content: MessageContent;
  constructor(content: MessageContent) {
    this.content = content;
  }
  static is(value: unknown): value is Message {
    return typeof value === 'object' && value !== null && #made in value;
  }
  /** A message that is joined to a string would be lost to translation: it is rendered instead. */
  toString(): never {
    throw new TypeError(`a message was used as a string: ${JSON.stringify(this.content)}`);
  }
}
