/** What a catalogue of texts is made of. */

/** A text, or its forms by the plural rules of the language. `{0}`, `{1}` ... stand for what is put in. */
export type Wording = string | Partial<Record<Intl.LDMLPluralRule, string>>;
/** By the English text; of a counted one, by its form for many. */
export type Catalogue = Readonly<Record<string, Wording>>;
