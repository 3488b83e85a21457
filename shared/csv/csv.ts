/** Writing CSV (RFC 4180) that a spreadsheet can open without running what is in it. */
import { createRequire } from 'node:module';
import type Papa from 'papaparse';

// What spreadsheets may run as a formula (OWASP, "CSV injection"), and the apostrophe itself, so that taking one off is exact.
const FORMULA = /^[=+\-@\t\r']/;

/** A text that a spreadsheet would take for a formula, with an apostrophe before it; any other as it is. */
export function guardFormula(text: string): string {
  return FORMULA.test(text) ? `'${text}` : text;
}

/** Takes off what {@link guardFormula} put on. */
export function unguardFormula(text: string): string {
  return text.startsWith("'") && FORMULA.test(text.slice(1)) ? text.slice(1) : text;
}

let loaded: typeof Papa | undefined;

/** Loaded at first use, since few runs of the bot touch a CSV file. */
export function papa(): typeof Papa {
  loaded ??= createRequire(import.meta.url)('papaparse');
  if (loaded === undefined) throw new Error('papaparse could not be loaded');
  return loaded;
}

/** Header and rows as CSV, with CRLF behind every line. The cells are written as they are. */
export const csvOf = (header: readonly string[], rows: readonly (readonly string[])[]): string =>
  `${papa().unparse([[...header], ...rows.map((row) => [...row])], { newline: '\r\n' })}\r\n`;
