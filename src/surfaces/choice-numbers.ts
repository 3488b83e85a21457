/** The numbers of choices, as somebody types them: "3", or several at once: "2 4", "2, 4, 5". Pure. */

/** So many choices are taken at once, at most. */
const MOST = 30;

/** From 1 to 99 each; null where the text is anything else. */
export function numbersIn(text: string): number[] | null {
  const said = text.trim();
  if (!/^#?[1-9]\d?[.)]?(?:\s*[,;+&]\s*#?[1-9]\d?|\s+#?[1-9]\d?)*$/.test(said)) return null;
  const numbers = [...new Set((said.match(/\d+/g) ?? []).map(Number))];
  return numbers.length <= MOST ? numbers : null;
}
