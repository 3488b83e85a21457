import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { inRow, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import { type ModelRecord, nameKey } from '../../shared/store/index.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { skeletonOf } from '../../shared/words/look-alike.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf, type Context } from '../framework/context.ts';
import {
  choiceOption,
  dateOption,
  lookupOption,
  moneyOption,
  optional,
  textOption,
} from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { type Draft, facts, reply, text } from '../framework/reply.ts';
import { families } from '../shared/lookups.ts';
import { checkPrice, FIRST_SOLD } from '../shared/price-limits.ts';
import { modelDataOf, modelSchema, nameOfFamily } from './reply.ts';

export const familyNameData = z.object({
  /** Null while it is asked whether another model is meant. */
  saved: modelSchema.nullable(),
  before: modelSchema.nullable(),
  /** A model that is named already and looks the same. */
  like: modelSchema.optional(),
});

/** A model of another name that looks like this one. */
export const looksLike = (name: string, { store }: Context): ModelRecord | undefined => {
  if (store.models.findByName(name)) return undefined;
  const own = skeletonOf(name);
  return store.models.list().find((one) => skeletonOf(one.name) === own);
};

/** The same name with another letter, or a nought for an O: which phone is meant? */
const askWhich = (
  name: string,
  like: ModelRecord,
  texts: Readonly<Record<string, string>>,
): Draft<z.infer<typeof familyNameData>> =>
  reply({
    title: say`“${verbatim(name)}” looks like ${verbatim(like.name)}, which is named already. Is it the same phone?`,
    blocks: [text(say`Nothing is kept yet. Two names for one phone divide its prices and its jobs.`)],
    choices: [
      {
        label: say`It is ${verbatim(like.name)}`,
        invoke: { command: 'family', action: 'name', options: { ...texts, model: like.name } },
      },
      {
        label: say`Another phone: name it`,
        invoke: { command: 'family', action: 'name', options: { ...texts, sure: 'yes' } },
      },
    ],
    data: { saved: null, before: null, like: modelDataOf(like) },
  });

/** A name that could be taken for something else, or hide what it is, is refused. */
export function checkModelName(name: string, { knowledge }: Context): void {
  const refuse = (problem: Message, expected: Message): never => {
    throw new Refusal({ code: 'bad-option', option: 'model', problem, expected });
  };
  if (/[\p{C}\u2028\u2029]/u.test(name)) refuse(say`The name has a hidden character in it.`, say`plain text`);
  if (/[:",]/.test(name) || !/\p{L}/u.test(name))
    refuse(
      say`"${verbatim(name)}" could not be told apart from other words.`,
      say`a name with a letter, and without : , or "`,
    );
  const key = nameKey(name);
  for (const family of knowledge.families.values()) {
    if (key === nameKey(family.name) || key === nameKey(family.id))
      refuse(say`"${verbatim(name)}" is the name of a family.`, say`what people call the phone`);
  }
}

function checkLaunch(launched: string, { now, collective }: Context): void {
  const today = isoDateIn(collective.settings.zone, now);
  if (launched > today) {
    throw new Refusal({
      code: 'bad-option',
      option: 'launched',
      problem: say`${verbatim(launched)} is in the future.`,
      expected: say`a date up to ${verbatim(today)}`,
    });
  }
  if (launched < FIRST_SOLD) {
    throw new Refusal({
      code: 'bad-option',
      option: 'launched',
      problem: say`${verbatim(launched)} is before any such phone was sold.`,
      expected: say`a date from ${typed(FIRST_SOLD)} on`,
    });
  }
}

const detailWords = {
  name: say`Name`,
  family: say`Family`,
  launched: say`Launched`,
  newPrice: say`Price when new`,
};

/** A detail as it is kept, to be compared, and in words. */
function detailOf(context: Context, one: ModelRecord, what: keyof typeof detailWords): [string, Message] {
  const unknown = say`not known`;
  switch (what) {
    case 'name':
      return [one.name, verbatim(one.name)];
    case 'family':
      return [one.family, nameOfFamily(context, one.family)];
    case 'launched':
      return [one.launched ?? '', one.launched === null ? unknown : verbatim(one.launched)];
    case 'newPrice':
      return [JSON.stringify(one.newPrice), one.newPrice ? amount(one.newPrice) : unknown];
  }
}

export const familyName = defineAction({
  summary: say`Name a model as one of a family, or change what is known of it`,
  who: 'member',
  options: {
    model: textOption({ max: 60, summary: say`What people call the phone`, example: 'Orrin K3' }),
    as: lookupOption({ lookup: families, summary: say`How it is built`, example: 'glued-front-home-sensor' }),
    launched: optional(dateOption({ summary: say`When it came out`, example: '2017-09' })),
    'new-price': optional(moneyOption({ summary: say`Its price when new`, example: '649' })),
    sure: optional(
      choiceOption({
        choices: ['yes'],
        summary: say`Name it although another name looks the same; you are asked`,
        example: 'yes',
      }),
    ),
  },
  examples: ['/family name "Orrin K3" as:glued-front-home-sensor launched:2017-09 new-price:649'],

  data: familyNameData,
  run: ({ model, as, launched, 'new-price': newPrice, sure }, context, texts) => {
    const { store, now } = context;
    checkModelName(model, context);
    if (launched) checkLaunch(launched, context);
    if (newPrice) checkPrice(newPrice, 'new-price');
    const like = sure ? undefined : looksLike(model, context);
    if (like) return askWhich(model, like, texts);
    const before = store.models.findByName(model);
    const saved = store.models.save({
      name: model,
      family: as.id,
      launched: launched ?? before?.launched ?? null,
      newPrice: newPrice ?? before?.newPrice ?? null,
      by: actorOf(context),
      at: now,
    });
    const changes = (['name', 'family', 'launched', 'newPrice'] as const).flatMap((what) => {
      if (!before) return [];
      const [[was, old], [is, value]] = [detailOf(context, before, what), detailOf(context, saved, what)];
      return was === is ? [] : [[detailWords[what], say`${value} (was: ${old})`] as const];
    });
    const open = before
      ? store.traces.listOpen().filter((trace) => trace.model === saved.id && trace.family !== saved.family)
      : [];
    return reply({
      title: !before
        ? say`${verbatim(saved.name)} is a ${nameOfFamily(context, saved.family)}`
        : changes.length
          ? say`${verbatim(saved.name)} is changed`
          : say`${verbatim(saved.name)} was so already`,
      tone: 'good',
      blocks: [
        facts(
          before
            ? changes
            : (['launched', 'newPrice'] as const).map((what) => [
                detailWords[what],
                detailOf(context, saved, what)[1],
              ]),
        ),
        ...(open.length
          ? [
              text(
                say`Open traces keep the family they began with: ${inRow(open.map(({ number }) => plain`#${number}`))}.`,
              ),
            ]
          : []),
        ...(saved.newPrice
          ? []
          : [text(say`A price when new (new-price:) or prices seen (/prices add) make /worth less rough.`)]),
      ],
      data: { saved: modelDataOf(saved), before: before && modelDataOf(before) } satisfies z.infer<
        typeof familyNameData
      >,
    });
  },
});
