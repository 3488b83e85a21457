/** `/read`: a sentence about a phone, in anybody's own words. What is typed without a command comes here too. */
import { z } from 'zod';
import { say } from '../shared/language/say.ts';
import { findSecret } from '../shared/notes/secrets.ts';
import { defineSimpleCommand } from './framework/command.ts';
import { actorOf, type Context } from './framework/context.ts';
import { type Option, optional, refuseValue, textOption } from './framework/option.ts';
import { answerBack, answerData } from './shared/answer-words.ts';
import { readBack, readData } from './shared/read-back.ts';
import { correctionsSchema, wordsIn } from './shared/said-phone.ts';

const invocation = z.object({
  command: z.string(),
  action: z.string(),
  options: z.record(z.string(), z.string()),
});
const stateSchema = z.object({
  goal: invocation.optional(),
  corrections: correctionsSchema.prefault({}),
  learn: z.object({ phrase: z.string(), meaning: z.string(), taken: z.boolean() }).optional(),
});
type State = z.infer<typeof stateSchema>;

const stateOption: Option<State, true> = {
  summary: say`What was put right so far; taps fill it in`,
  example: '{}',
  required: true,
  many: false,
  wire: { type: 'text', max: 6000 },
  expected: say`what a tap fills in`,
  schema: () =>
    z.string().transform((text, issue): State => {
      try {
        return stateSchema.parse(JSON.parse(text));
      } catch {
        return refuseValue(issue, say`not understood`);
      }
    }),
};

/** Longer phrases are no words that come again. */
const LONGEST_PHRASE = 8;

/** Kept for the next time that somebody here says it; a number, such as an IMEI, is not. */
function learn(context: Context, { phrase, meaning, taken }: NonNullable<State['learn']>): void {
  const words = wordsIn(phrase);
  if (!words.length || words.length > LONGEST_PHRASE || words.some((word) => /\d{5}/.test(word))) return;
  if (findSecret(phrase, context.knowledge.secrets)) return;
  if (context.person.role === 'visitor') return;
  context.store.learnedWords.learn(
    { phrase: words.join(' '), meaning, taken },
    actorOf(context),
    context.now,
  );
}

export const read = defineSimpleCommand({
  name: 'read',
  summary: say`Say it in your own words: what is wrong with a phone, or what a check showed`,
  options: {
    text: textOption({
      max: 4000,
      summary: say`What you see, know and want, in any order`,
      example: 'given, dead, 0 A, cracked corner',
    }),
    'so-far': optional(stateOption),
  },
  examples: ['/read "Orrin K3, given, dead, 0 A, cracked corner"', '/read "won’t turn on, touch ok"'],

  data: z.union([readData, answerData]),
  run: ({ text, 'so-far': state }, context) => {
    if (state?.learn) learn(context, state.learn);
    const answer = state ? null : answerBack(context, text);
    return (
      answer ??
      readBack(context, { text, goal: state?.goal, ...(state ? { corrections: state.corrections } : {}) })
    );
  },
});
