/** Options that take a person's own words, and those that carry what was read of them. */

import { z } from 'zod';
import { fits } from '../../knowledge/features.ts';
import type { Family } from '../../knowledge/schema.ts';
import { readAnswer } from '../../shared/diagnosis/reading.ts';
import type { Message } from '../../shared/language/message.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import type { Named } from '../framework/lookup.ts';
import {
  lookupOption,
  manyOption,
  type Option,
  optional,
  refuseValue,
  textOption,
} from '../framework/option.ts';
import { components, symptoms } from './lookups.ts';

/** Symptoms by their names or ids, or a person's own words, which are read back before they count. */
export type SymptomsSaid = { ids: string[] } | { words: string };

export const symptomsOption = (summary: Message, example: string): Option<SymptomsSaid, true> => {
  const names = manyOption(lookupOption({ summary, example, lookup: symptoms }));
  return {
    ...names,
    wire: { type: 'lookup', lookup: symptoms, words: true },
    expected: say`what it does, in your own words`,
    schema: (context) => {
      const exact = names.schema(context);
      return z.string().transform((text, issue): SymptomsSaid => {
        if (!text.trim()) return refuseValue(issue, say`empty`);
        const read = exact.safeParse(text);
        return read.success ? { ids: [...new Set(read.data.map(({ id }) => id))] } : { words: text.trim() };
      });
    },
  };
};

export const deniedOption = optional(
  manyOption(
    lookupOption({
      summary: say`What it is said not to do, separated by commas`,
      example: 'no touch',
      lookup: symptoms,
    }),
  ),
);

export const damageOption = optional(
  manyOption(
    lookupOption({
      summary: say`Components known to be broken, besides`,
      example: 'front glass',
      lookup: components,
    }),
  ),
);

/** A check that was done before it was asked. */
export interface CheckDone {
  check: string;
  outcome: string;
  reading: string | null;
}

const oneFound: Option<CheckDone, true> = {
  summary: say`Checks that were done already: the check, = and what it showed`,
  example: 'charge-current=0.00 A',
  required: true,
  many: false,
  wire: { type: 'text', max: 400 },
  expected: say`a check, = and one of its answers`,
  schema: ({ knowledge }) =>
    z.string().transform((text, issue): CheckDone => {
      const [id = '', answer = ''] = text.split(/=(.*)/s);
      const check = knowledge.checks.get(id.trim());
      const read = check && readAnswer(check, answer);
      if (check && read?.ok) return { check: check.id, outcome: read.outcome.id, reading: read.reading };
      return refuseValue(issue, say`"${verbatim(text)}" is no check with an answer of it`);
    }),
};
export const foundOption = optional(manyOption(oneFound));

export const wordsOption = optional(
  textOption({
    summary: say`All that was said, kept as it was said`,
    example: 'given, photos first',
    max: 500,
  }),
);

/** Those that a phone of this family can have; the rest cannot be asked of it. */
export const foundThatFit = (
  { checks }: { checks: ReadonlyMap<string, Parameters<typeof fits>[1]> },
  family: Family,
  found: readonly CheckDone[],
): CheckDone[] =>
  found.filter(({ check }) => {
    const known = checks.get(check);
    return known !== undefined && fits(family, known);
  });

export const idsOf = (named: readonly Named[] = []): string[] => [...new Set(named.map(({ id }) => id))];
