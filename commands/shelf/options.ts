/** What the actions of `/shelf` share: options, and how a part is shown. */
import { z } from 'zod';
import { partGrades } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import { amount, moneyWire, toWire } from '../../shared/money/money.ts';
import { isLate, type LoggedMove, type ShelfPart, shelfStates } from '../../shared/shelf/part.ts';
import type { Context } from '../framework/context.ts';
import { integerOption, lookupOption, optional, textOption } from '../framework/option.ts';
import { modelsAndFamilies } from '../shared/lookups.ts';
import { componentName, dayIn, partGradeWords } from '../shared/words.ts';

export const partOption = integerOption({
  summary: say`The number of the part, from /shelf list`,
  example: '7',
  min: 1,
  max: 1e9,
});
export const ofOption = optional(
  lookupOption({
    summary: say`The model it is for, or a family`,
    example: 'Orrin K3',
    lookup: modelsAndFamilies,
  }),
);
export const placeOption = optional(
  textOption({ summary: say`Where it lies`, example: 'drawer B', max: 60 }),
);

export const partData = z.object({
  part: z.number().int(),
  component: z.string(),
  family: z.string(),
  model: z.string().nullable(),
  grade: z.enum(partGrades),
  tested: z.boolean(),
  price: moneyWire.nullable(),
  supplier: z.string(),
  donor: z.number().int().nullable(),
  paired: z.boolean(),
  place: z.string(),
  due: z.string().nullable(),
  late: z.boolean(),
  state: z.enum(shelfStates),
  job: z.number().int().nullable(),
});
export const shelfData = z.object({ parts: z.array(partData) });

const modelName = ({ store }: Context, { model }: ShelfPart): string | null =>
  model === null ? null : (store.models.get(model)?.name ?? null);

export const today = (context: Context): string => dayIn(context, context.now);

export const partDataOf = (context: Context, part: ShelfPart): z.infer<typeof partData> => ({
  part: part.number,
  component: part.component,
  family: part.family,
  model: modelName(context, part),
  grade: part.grade,
  tested: part.tested,
  price: part.price && toWire(part.price),
  supplier: part.supplier,
  donor: part.donor,
  paired: part.paired,
  place: part.place,
  due: part.due,
  late: isLate(part, today(context)),
  state: part.state,
  job: part.job,
});

/** The phone that a part is of. */
export const phoneOfPart = (context: Context, part: ShelfPart): Message => {
  const name = modelName(context, part);
  return name === null
    ? packText(context.knowledge.families.get(part.family)?.name ?? part.family)
    : verbatim(name);
};

/** "Part 7: battery of Orrin K3". */
export const partHeading = (context: Context, part: ShelfPart): Message =>
  say`Part ${part.number}: ${componentName(context, part.component)} of ${phoneOfPart(context, part)}`;

/** Where it came from. */
export const originWords = (part: ShelfPart): Message =>
  part.donor !== null
    ? say`out of the phone of job ${part.donor}`
    : part.supplier
      ? say`from ${verbatim(part.supplier)}`
      : say`not said`;

/** What there is to know of it before it is used. */
export const conditionOf = (part: ShelfPart): Message =>
  inRow([
    partGradeWords[part.grade],
    part.tested ? say`seen working` : say`not tested`,
    ...(part.paired ? [say`tied to its old board`] : []),
  ]);

/** Where it is now. */
export function whereWords(context: Context, part: ShelfPart): Message {
  if (part.state === 'fitted') return say`in the phone of job ${part.job ?? 0}`;
  if (part.state === 'gone') return say`gone`;
  if (part.state === 'here') return part.place ? verbatim(part.place) : say`on the shelf`;
  if (part.due === null) return say`on order`;
  return isLate(part, today(context))
    ? say`on order, late: it was due on ${verbatim(part.due)}`
    : say`on order, due on ${verbatim(part.due)}`;
}

export const priceWords = (part: ShelfPart): Message => (part.price ? amount(part.price) : say`nothing`);

export function moveInWords({ move }: LoggedMove): Message {
  switch (move.kind) {
    case 'ordered':
      return say`ordered`;
    case 'added':
      return say`put on the shelf`;
    case 'arrived':
      return move.place ? plain`${say`arrived`}, ${verbatim(move.place)}` : say`arrived`;
    case 'taken':
      return say`fitted in job ${move.job}`;
    case 'back':
      return say`taken out of job ${move.job}`;
    case 'gone':
      return move.why ? say`gone: ${verbatim(move.why)}` : say`gone`;
  }
}
