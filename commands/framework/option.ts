/**
 * Options. Each is one zod schema from the text a person gave to the value a command gets; the parser, the usage text,
 * completion and the platforms' own option types all come from it.
 */
import { z } from 'zod';
import { MOST_FILE_BYTES, MOST_FILE_WORDS } from '../../shared/csv/text-file.ts';
import { languageIn } from '../../shared/language/locale.ts';
import { Message } from '../../shared/language/message.ts';
import { inRow, say, typed, verbatim } from '../../shared/language/say.ts';
import { fromMajor, type Money, toWire } from '../../shared/money/money.ts';
import { parseAmount } from '../../shared/money/parse-amount.ts';
import { isBarePng } from '../../shared/photos/photo.ts';
import type { Context } from './context.ts';
import { type Lookup, type Named, nearestNames } from './lookup.ts';
import { isRefusalCode, type RefusalCode } from './refusal.ts';

export interface Option<T = unknown, Needed extends boolean = boolean> {
  summary: Message;
  example: string;
  required: Needed;
  /** Several values, separated by commas. */
  many: boolean;
  /** It takes a person's own words, which may be kept: secrets in them are refused, IMEIs masked (`kept-words.ts`). */
  free?: boolean;
  /** What stands in it tells of phones that are elsewhere: words of danger in it are nobody's here. */
  elsewhere?: true;
  /** How a platform should ask for it. */
  wire: /** `colons`: a word of it may have a colon in it where no option is called what stands before that. */
    | { type: 'text'; max: number; colons?: true }
    | { type: 'choice'; choices: readonly string[] }
    | { type: 'integer' | 'number'; min: number; max: number }
    /** `words`: a person's own words are taken too, and read. */
    | { type: 'lookup'; lookup: Lookup; words?: boolean }
    | { type: 'file' /** A picture, which a surface draws anew; its text is base64. */; photo?: true }
    /** A thing of the platform itself, which asks for it in its own way and gives its id. */
    | { type: 'native'; kind: NativeKind };
  /** What is wanted, for the refusal: "a whole number from 1 to 500". */
  expected: Message;
  schema: (context: Context) => z.ZodType<T, string>;
}

export type OptionsShape = Record<string, Option>;
export type Values<O extends OptionsShape> = {
  [K in keyof O as O[K] extends Option<unknown, true> ? K : never]: O[K] extends Option<infer T> ? T : never;
} & {
  [K in keyof O as O[K] extends Option<unknown, true> ? never : K]?: O[K] extends Option<infer T> ? T : never;
};

/** Why a value is refused: it travels in the issue, since the issue's own text has no language but English. */
export interface ValueProblem {
  problem: Message;
  expected?: Message;
  nearest?: readonly string[];
  /** "bad-option" when not given. */
  code?: RefusalCode;
}
/** Refuses the value that a schema reads. */
export const refuseValue = (
  issue: z.core.$RefinementCtx,
  problem: Message,
  more: Omit<ValueProblem, 'problem'> = {},
): never => {
  issue.addIssue({ code: 'custom', message: 'not understood', params: { problem, ...more } });
  return z.NEVER;
};
/** What the first issue says. */
export function problemOf(error: z.ZodError): ValueProblem {
  const [first] = error.issues;
  const params = first?.code === 'custom' ? first.params : undefined;
  const problem: unknown = params?.problem;
  const expected: unknown = params?.expected;
  const nearest: unknown = params?.nearest;
  const code: unknown = params?.code;
  return {
    problem: Message.is(problem) ? problem : say`not understood`,
    ...(Message.is(expected) ? { expected } : {}),
    ...(Array.isArray(nearest) ? { nearest: nearest.map(String) } : {}),
    ...(typeof code === 'string' && isRefusalCode(code) ? { code } : {}),
  };
}

type Base = { summary: Message; example: string };
const needed = <T>(option: Option<T, true>): Option<T, true> => option;

/** Turns a required option into one that may be left out. */
export const optional = <T>(option: Option<T, true>): Option<T, false> => ({ ...option, required: false });

/** Text without control characters; 1 to `max` characters. */
export const textOption = ({ max = 200, ...base }: Base & { max?: number }): Option<string, true> =>
  needed({
    ...base,
    required: true,
    many: false,
    free: true,
    wire: { type: 'text', max },
    expected: say`text of at most ${max} characters`,
    schema: () =>
      z.string().transform((text, issue) => {
        const value = text.trim();
        if (value && value.length <= max) return value;
        return refuseValue(issue, value ? say`longer than ${max} characters` : say`empty`);
      }),
  });

export const choiceOption = <const C extends readonly string[]>({
  choices,
  ...base
}: Base & { choices: C }): Option<C[number], true> =>
  needed({
    ...base,
    required: true,
    many: false,
    wire: { type: 'choice', choices },
    expected: inRow(choices.map(typed)),
    schema: () =>
      z.string().transform((text, issue): C[number] => {
        const found = choices.find((choice) => choice === text.trim().toLowerCase());
        if (found !== undefined) return found;
        return refuseValue(issue, say`"${verbatim(text)}" is not one of the choices`, {
          nearest: nearestNames(
            text,
            choices.map((name) => ({ id: name, name })),
          ),
        });
      }),
  });

const numeric =
  (type: 'integer' | 'number') =>
  ({ min, max, ...base }: Base & { min: number; max: number }): Option<number, true> => {
    const expected =
      type === 'integer' ? say`a whole number from ${min} to ${max}` : say`a number from ${min} to ${max}`;
    return needed({
      ...base,
      required: true,
      many: false,
      wire: { type, min, max },
      expected,
      schema: () =>
        z.string().transform((text, issue) => {
          const value = /^[+-]?\d+(\.\d+)?$/.test(text.trim()) ? Number(text) : Number.NaN;
          if (value >= min && value <= max && (type === 'number' || Number.isInteger(value))) return value;
          return refuseValue(issue, say`"${verbatim(text)}" is not ${expected}`);
        }),
    });
  };
export const integerOption = numeric('integer');
export const numberOption = numeric('number');

/** A share, given as "25 %", "25%", "25" or "0.25"; the value is from 0 to 1. A bare number above 1 is in per cent. */
export const shareOption = ({ max = 1, ...base }: Base & { max?: number }): Option<number, true> =>
  needed({
    ...base,
    required: true,
    many: false,
    wire: { type: 'text', max: 10 },
    expected: say`a share from 0 % to ${max * 100} %`,
    schema: () =>
      z.string().transform((text, issue) => {
        const match = /^(\d+(?:[.,]\d+)?)\s*(%?)$/.exec(text.trim());
        const number = Number(match?.[1]?.replace(',', '.'));
        const value = match ? number / (match[2] || number > 1 ? 100 : 1) : Number.NaN;
        if (value >= 0 && value <= max) return value;
        return refuseValue(issue, say`"${verbatim(text)}" is not a share from 0 % to ${max * 100} %`);
      }),
  });

/** "1.250" is a thousand and more, or one and a quarter where the currency has as many decimals. */
const asThousands = (text: string, grouped: Money): Money[] => {
  const decimal = /\d+\.\d+/.exec(text)?.[0] ?? '';
  return [grouped, fromMajor(Number(decimal), grouped.currency)];
};

/**
 * An amount in the collective's currency, as people write it: "60", "20,50", "1.250,00 €", "$20"; never negative. What can be read
 * in two ways is asked.
 */
export const moneyOption = (base: Base): Option<Money, true> =>
  needed({
    ...base,
    required: true,
    many: false,
    wire: { type: 'text', max: 24 },
    expected: say`an amount like 60 or 60.50`,
    schema: ({ collective, locale }) =>
      z.string().transform((text, issue) => {
        const { currency } = collective.settings;
        const commas =
          languageIn(locale) === 'en' ? (['groups', 'divides'] as const) : (['divides'] as const);
        const [own, other] = commas.map((comma) => parseAmount(text, currency, { comma }));
        if (own?.ok) return own.money;
        const either = own && !own.ok ? own.either : undefined;
        // What the reader's own language does not write, and can be read in one way alone.
        if (other?.ok && !/^\D*\d{1,3}\.\d{3}\D*$/.test(text)) return other.money;
        const both = either ?? (other?.ok && own && !own.ok ? asThousands(text, other.money) : undefined);
        const problem = own && !own.ok ? own.problem : say`not understood`;
        const expected = own && !own.ok ? own.expected : base.summary;
        const nearest = both?.map((one) => toWire(one).amount);
        return refuseValue(issue, problem, { expected, ...(nearest ? { nearest } : {}) });
      }),
  });

/** `place`: a channel, or a forum. */
type NativeKind = 'role' | 'channel' | 'place';

/** A role or a channel of the platform that it is said on; the value is its id, as the platform gives it. */
export const nativeOption = ({ kind, ...base }: Base & { kind: NativeKind }): Option<string, true> =>
  needed({
    ...base,
    required: true,
    many: false,
    wire: { type: 'native', kind },
    expected: kind === 'role' ? say`a role of this server` : say`a channel of this server`,
    schema: () =>
      z.string().transform((text, issue) => {
        const id = text.trim();
        return /^[\w-]{1,40}$/.test(id) ? id : refuseValue(issue, say`"${verbatim(text)}" is none`);
      }),
  });

/** Years that a bench may have to do with: chosen wide. */
const FIRST_YEAR = 1980;
const YEARS_AHEAD = 5;

/** A calendar date, 2017-09-21, or a month, 2017-09, which stands for its first day. The value is an ISO date. */
export const dateOption = (base: Base): Option<string, true> =>
  needed({
    ...base,
    required: true,
    many: false,
    wire: { type: 'text', max: 10 },
    expected: say`a date like 2017-09 or 2017-09-21`,
    schema: ({ now }) =>
      z.string().transform((text, issue) => {
        const full = /^\d{4}-\d{2}$/.test(text.trim()) ? `${text.trim()}-01` : text.trim();
        if (!z.iso.date().safeParse(full).success)
          return refuseValue(issue, say`"${verbatim(text)}" is not a date`);
        const year = Number(full.slice(0, 4));
        if (year >= FIRST_YEAR && year <= now.getUTCFullYear() + YEARS_AHEAD) return full;
        return refuseValue(issue, say`${year} is too far away for a bench`, {
          expected: say`a year from ${FIRST_YEAR} to ${now.getUTCFullYear() + YEARS_AHEAD}`,
        });
      }),
  });

/** The name of a thing: found by id, name or alias in its lookup. */
export const lookupOption = ({ lookup, ...base }: Base & { lookup: Lookup }): Option<Named, true> =>
  needed({
    ...base,
    required: true,
    many: false,
    wire: { type: 'lookup', lookup },
    expected: lookup.expected,
    schema: (context) =>
      z.string().transform((text, issue) => {
        const entries = lookup.entries(context);
        const found = lookup.find(text, entries);
        if (found) return found;
        return refuseValue(issue, lookup.none(verbatim(text)), {
          code: 'not-found',
          nearest: nearestNames(text, entries),
        });
      }),
  });

/** One to `max` values separated by commas. */
export const manyOption = <T>(option: Option<T, true>, max = 12): Option<T[], true> => ({
  ...option,
  many: true,
  expected: say`${option.expected}; several, separated by commas`,
  schema: (context) => {
    const one = option.schema(context);
    return z.string().transform((text, issue): T[] => {
      const values: T[] = [];
      const parts = text
        .split(',')
        .map((part) => part.trim())
        .filter(Boolean);
      if (!parts.length || parts.length > max) refuseValue(issue, say`1 to ${max} values can be given`);
      for (let from = 0; from < parts.length; ) {
        // A name may have a comma in it: the longest run of parts that can be read is taken.
        const runs = [3, 2, 1].filter((length) => from + length <= parts.length);
        const reads = runs.map((length) => ({
          length,
          read: one.safeParse(parts.slice(from, from + length).join(', ')),
        }));
        const found = reads.find(({ read }) => read.success) ?? reads.at(-1);
        if (!found) break;
        from += found.length;
        if (found.read.success) {
          values.push(found.read.data);
          continue;
        }
        // The first that is wrong is told; looking for the names nearest to all of them would take long.
        for (const problem of found.read.error.issues) issue.addIssue({ ...problem, code: 'custom' });
        break;
      }
      return values;
    });
  },
});

/** A text file: its content on the terminal's command line, an attachment on a chat platform. */
export const fileOption = (base: Base): Option<string, true> =>
  needed({
    ...base,
    required: true,
    many: false,
    wire: { type: 'file' },
    expected: say`a text file of at most ${typed(MOST_FILE_WORDS)}`,
    schema: () =>
      z.string().transform((text, issue) => {
        if (text && Buffer.byteLength(text) <= MOST_FILE_BYTES) return text;
        return refuseValue(issue, text ? say`larger than ${typed(MOST_FILE_WORDS)}` : say`empty`);
      }),
  });

/** A photo: JPEG or PNG as it is attached; the value is base64 of a PNG with nothing but the picture in it. */
export const photoOption = (base: Base): Option<string, true> =>
  needed({
    ...base,
    required: true,
    many: false,
    wire: { type: 'file', photo: true },
    expected: say`a photo, JPEG or PNG, of at most ${typed('12 MB')}`,
    schema: () =>
      z.string().transform((text, issue) => {
        // A surface has drawn it anew; what it did not is refused, whatever it is.
        const bytes = Buffer.from(text, 'base64');
        if (bytes.toString('base64') === text && isBarePng(bytes)) return text;
        return refuseValue(issue, say`no photo that could be drawn anew`);
      }),
  });
