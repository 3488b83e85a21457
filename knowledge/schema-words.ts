/** What a schema found wrong, in words for whoever edits the pack or runs the bot: given to `safeParse` as its `error`. */
import type { z } from 'zod';

const types: Readonly<Record<string, string>> = {
  string: 'text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list',
  object: 'fields with their values',
  record: 'names with their values',
  date: 'a date',
  null: 'nothing',
  undefined: 'nothing',
};
const formats: Readonly<Record<string, string>> = {
  date: 'a date such as 2026-03-02',
  datetime: 'a time such as 2026-03-02T09:00:00Z',
  url: 'a web address such as https://example.org',
  regex: 'another form',
};

const counted = (n: number | bigint, one: string, more: string): string =>
  `${n} ${Number(n) === 1 ? one : more}`;

/** "at least 2 entries", "more than 0". `limit`: the least, or the most. */
function range(
  origin: string,
  limit: number | bigint,
  inclusive: boolean,
  [atLimit, beyond]: readonly [atLimit: string, beyond: string],
): string {
  if (origin === 'string') return `text of ${atLimit} ${counted(limit, 'character', 'characters')}`;
  if (origin === 'array' || origin === 'set' || origin === 'map')
    return `${atLimit} ${counted(limit, 'entry', 'entries')}`;
  return `${inclusive ? atLimit : beyond} ${limit}`;
}

const list = (values: readonly unknown[]): string => values.map((value) => String(value)).join(', ');

const oneOf = (values: readonly unknown[]): string =>
  values.length === 1 ? list(values) : `one of ${list(values)}`;

function wantedBy(issue: z.core.$ZodRawIssue): string {
  switch (issue.code) {
    case 'invalid_type':
      return types[issue.expected] ?? issue.expected;
    case 'invalid_value':
      return oneOf(issue.values);
    case 'too_small':
      return range(issue.origin, issue.minimum, issue.inclusive ?? true, ['at least', 'more than']);
    case 'too_big':
      return range(issue.origin, issue.maximum, issue.inclusive ?? true, ['at most', 'less than']);
    case 'invalid_format':
      return formats[issue.format] ?? 'another form';
    case 'not_multiple_of':
      return `a multiple of ${issue.divisor}`;
    default:
      return 'another form';
  }
}

export const issueInWords: z.core.$ZodErrorMap = (issue) => {
  if (issue.code === 'unrecognized_keys') {
    const names = issue.keys.map((key) => `"${key}"`).join(', ');
    return issue.keys.length === 1 ? `there is no field ${names} here` : `there are no fields ${names} here`;
  }
  if (issue.code === 'invalid_key') return `a name that cannot stand here: ${issue.issues[0]?.message}`;
  const wanted = `wanted ${wantedBy(issue)}`;
  return issue.input === undefined ? `missing, ${wanted}` : wanted;
};
