import { z } from 'zod';
import { groundInWords } from '../knowledge/grounds.ts';
import { type Family, type Ground, pairingEffects } from '../knowledge/schema.ts';
import { counted, listWords, say, translated } from '../shared/language/say.ts';
import { formatMoney, moneyWire, toWire } from '../shared/money/money.ts';
import { isoDateIn } from '../shared/pairing/law.ts';
import { effectWords, pairingTable } from '../shared/pairing/pairing.ts';
import { type FamilyRepairability, familyRepairability } from '../shared/repairability/family.ts';
import { cardsFor } from '../shared/safety/cautions.ts';
import { type ModelRecord, nameKey } from '../shared/store/index.ts';
import { phoneOf } from './bench.ts';
import { defineAction, defineCommand } from './command.ts';
import type { Context } from './context.ts';
import { families, models, modelsAndFamilies } from './lookup.ts';
import { choiceOption, dateOption, lookupOption, moneyOption, optional, textOption } from './option.ts';
import { Refusal } from './refusal.ts';
import { facts, reply, steps, table, text } from './reply.ts';
import { sourcesOf } from './words.ts';

const modelData = z.object({
  name: z.string(),
  family: z.string(),
  launched: z.iso.date().nullable(),
  newPrice: moneyWire.nullable(),
  by: z.string(),
});
const era = z.object({ from: z.number().int(), to: z.number().int().nullable() });

const rating = z.object({ index: z.number(), class: z.enum(['A', 'B', 'C', 'D', 'E']) });
/** The EU repairability index; null with what is missing where it cannot be worked out. */
const repairabilityData = z.object({
  rated: rating.nullable(),
  unpaired: rating.nullable(),
  paired: z.array(z.string()),
  assumed: z.array(z.string()),
  missing: z.array(z.string()),
});

export const familyListData = z.object({
  families: z.array(z.object({ id: z.string(), name: z.string(), era, models: z.array(z.string()) })),
});
export const familyShowData = z.object({
  id: z.string(),
  name: z.string(),
  era,
  features: z.array(z.string()),
  components: z.array(z.string()),
  /** Components by their likeliest effect of a swap; `none` has no statement in the pack. */
  pairing: z.record(z.enum([...pairingEffects, 'none']), z.number().int()),
  lessons: z.array(z.string()),
  repairability: repairabilityData,
  models: z.array(modelData),
});
export const familyNameData = z.object({ saved: modelData, before: modelData.nullable() });
export const familyForgetData = z.object({ forgotten: modelData, prices: z.number().int() });

const dataOf = ({ name, family, launched, newPrice, by }: ModelRecord): z.infer<typeof modelData> => ({
  name,
  family,
  launched,
  newPrice: newPrice && toWire(newPrice),
  by,
});

const eraWords = ({ era: { from, to } }: Family): string => `${from}–${to ?? ''}`;
const familyName = ({ knowledge }: Context, id: string): string => knowledge.families.get(id)?.name ?? id;

const heldWords: Readonly<Record<Family['cell']['held'], string>> = {
  loose: 'lies loose',
  'pull-tabs': 'pull tabs',
  wrap: 'a wrap with tabs',
  glue: 'glue',
  screws: 'screws',
};

const list = defineAction({
  summary: 'List the families, and the models named as each',
  options: {},
  examples: ['/family list'],
  run: (_, { knowledge, store }) => {
    const named = store.models.list();
    const rows = [...knowledge.families.values()].map((family) => ({
      family,
      models: named.filter((model) => model.family === family.id).map(({ name }) => name),
    }));
    return reply({
      title: say`${rows.length} families`,
      blocks: [
        table(
          [say`Family`, say`Called`, say`Built`, say`Your models`],
          rows.map((row) => [row.family.name, row.family.id, eraWords(row.family), row.models.join(', ')]),
        ),
        text(say`Name a model: /family name "Orrin K3" as: and one of these.`),
      ],
      data: {
        families: rows.map(({ family: { id, name, era }, models }) => ({ id, name, era, models })),
      } satisfies z.infer<typeof familyListData>,
    });
  },
});

/** How many components of the family have which likeliest effect when swapped. */
function pairingCounts(context: Context, family: Family) {
  const counts: Record<z.infer<typeof pairingKey>, number> = {
    free: 0,
    notice: 0,
    reduced: 0,
    calibrate: 0,
    lost: 0,
    none: 0,
  };
  for (const { effect } of pairingTable(context.knowledge, family)) counts[effect ?? 'none'] += 1;
  return counts;
}
const pairingKey = z.enum([...pairingEffects, 'none']);

function pairingWords(counts: ReturnType<typeof pairingCounts>): string {
  const stated = pairingEffects
    .filter((effect) => counts[effect] > 0)
    .map((effect) => say`${counts[effect]} where a swap ${translated(effectWords[effect])}`);
  return [
    ...stated,
    ...(counts.none ? [say`${counts.none} without an official statement that was found`] : []),
  ].join('; ');
}

/** Two decimals, cut: what is short of a class is not shown as reaching it. */
const cut = (index: number): string => (Math.floor(index * 100 + 1e-6) / 100).toFixed(2);

/** The label's index, where it stands, and what it rests on. */
function repairabilityFact(found: FamilyRepairability): string {
  if (!found.known) return say`not worked out; not known: ${listWords(found.missing)}`;
  const { rated, unpaired, paired, assumed } = found;
  const pairing = paired.length
    ? say` That is with the pairing of ${listWords(paired)}; unpaired it would be ${cut(unpaired.index)}, class ${unpaired.class}.`
    : '';
  return say`about ${cut(rated.index)} of 5, class ${rated.class}.${pairing} Assumed: ${assumed.join('; ')}. A model's own label comes first.`;
}

const ratingOf = ({ index, class: letter }: { index: number; class: z.infer<typeof rating>['class'] }) => ({
  index: Number(index.toFixed(4)),
  class: letter,
});

const repairabilityDataOf = (found: FamilyRepairability): z.infer<typeof repairabilityData> =>
  found.known
    ? {
        rated: ratingOf(found.rated),
        unpaired: ratingOf(found.unpaired),
        paired: [...found.paired],
        assumed: [...found.assumed],
        missing: [],
      }
    : { rated: null, unpaired: null, paired: [], assumed: [], missing: [...found.missing] };

/** What the index is worked out from. */
const INDEX_SOURCES: readonly Ground[] = [
  { source: 'eu-2023-1669', at: 'Annex IV 5' },
  { source: 'eu-2023-1670', at: 'Annex II Part B 1.1' },
];

const LESSONS = 5;

const show = defineAction({
  summary: 'Show how a family is built: how it opens, seals and holds its cell, and what is paired',
  options: {
    family: lookupOption({
      lookup: modelsAndFamilies,
      summary: 'A family, or a model you have named',
      example: 'Orrin K3',
    }),
  },
  examples: ['/family show "Orrin K3"'],
  run: ({ family: wanted }, context) => {
    const { knowledge, store, collective, locale } = context;
    const { family } = phoneOf(context, wanted);
    const named = store.models.list().filter((model) => model.family === family.id);
    const counts = pairingCounts(context, family);
    const lessons = knowledge.lessons.filter(({ about }) => about.some((id) => family.features.includes(id)));
    const { open, close, board, cell } = family;
    const repairability = familyRepairability(knowledge, family);
    const components = Object.keys(family.components).map((id) => knowledge.components.get(id)?.name ?? id);
    return reply({
      title: family.name,
      cautions: cardsFor(knowledge, [...open.hazards, ...close.hazards], collective.settings.region),
      blocks: [
        text(family.about),
        facts([
          [say`Built`, eraWords(family)],
          [
            say`Opens`,
            say`about ${open.minutes} min${open.tools.length ? say`, with ${listWords(open.tools)}` : ''}`,
          ],
          [say`Opening costs`, open.breaks ?? 'nothing'],
          [say`Board out`, say`about ${board.minutes} min more`],
          [say`Closing and seal`, close.note],
          [say`Holds its cell by`, `${translated(heldWords[cell.held])}. ${cell.note}`],
          [say`Components`, `${components.length}: ${components.join(', ')}`],
          [say`Pairing`, say`${pairingWords(counts)}. All of it: /paired ${family.id}`],
          [say`Repairability index`, repairabilityFact(repairability)],
        ]),
        steps(open.steps, say`How it opens`),
        ...(lessons.length
          ? [
              steps(
                lessons
                  .slice(0, LESSONS)
                  .map(({ says, ground }) => `${says} (${groundInWords(knowledge, ground)})`),
                say`What benches know`,
                false,
              ),
            ]
          : []),
        ...(named.length
          ? [
              table(
                [say`Model`, say`Launched`, say`>When new`, say`Named by`],
                named.map(({ name, launched, newPrice, by }) => [
                  name,
                  launched ?? '',
                  newPrice ? formatMoney(newPrice, locale) : '',
                  by,
                ]),
              ),
            ]
          : [text(say`No model is named as this yet: /family name "Orrin K3" as:${family.id}`)]),
        text(say`Ground of the build: ${groundInWords(knowledge, family.ground)}.`),
      ],
      sources: sourcesOf(knowledge, [
        family.ground,
        ...lessons.slice(0, LESSONS).map(({ ground }) => ground),
        ...INDEX_SOURCES,
      ]),
      data: {
        id: family.id,
        name: family.name,
        era: family.era,
        features: family.features,
        components: Object.keys(family.components),
        pairing: counts,
        lessons: lessons.map(({ id }) => id),
        repairability: repairabilityDataOf(repairability),
        models: named.map(dataOf),
      } satisfies z.infer<typeof familyShowData>,
    });
  },
});

/** A name that could be taken for something else, or hide what it is, is refused. */
function checkName(name: string, { knowledge }: Context): void {
  const refuse = (problem: string, expected: string): never => {
    throw new Refusal({ option: 'model', problem, expected });
  };
  if (/[\p{C}\u2028\u2029]/u.test(name)) refuse(say`The name has a hidden character in it.`, say`plain text`);
  if (/[:",]/.test(name) || !/\p{L}/u.test(name))
    refuse(
      say`"${name}" could not be told apart from other words.`,
      say`a name with a letter, and without : , or "`,
    );
  const key = nameKey(name);
  for (const family of knowledge.families.values()) {
    if (key === nameKey(family.name) || key === nameKey(family.id))
      refuse(say`"${name}" is the name of a family.`, say`what people call the phone`);
  }
}

const name = defineAction({
  summary: 'Name a model as one of a family, or change what is known of it',
  who: 'member',
  options: {
    model: textOption({ max: 60, summary: 'What people call the phone', example: 'Orrin K3' }),
    as: lookupOption({ lookup: families, summary: 'How it is built', example: 'glued-front-home-sensor' }),
    launched: optional(dateOption({ summary: 'When it came out', example: '2017-09' })),
    'new-price': optional(moneyOption({ summary: 'Its price when new', example: '649' })),
  },
  examples: ['/family name "Orrin K3" as:glued-front-home-sensor launched:2017-09 new-price:649'],
  run: ({ model, as, launched, 'new-price': newPrice }, context) => {
    const { store, person, now, collective, locale } = context;
    checkName(model, context);
    const today = isoDateIn(collective.settings.zone, now);
    if (launched && launched > today) {
      throw new Refusal({
        option: 'launched',
        problem: say`${launched} is in the future.`,
        expected: say`a date up to ${today}`,
      });
    }
    if (newPrice?.minor === 0) {
      throw new Refusal({
        option: 'new-price',
        problem: say`A price of nothing tells nothing.`,
        expected: say`a price above 0`,
      });
    }
    const before = store.models.findByName(model);
    const saved = store.models.save({
      name: model,
      family: as.id,
      launched: launched ?? before?.launched ?? null,
      newPrice: newPrice ?? before?.newPrice ?? null,
      by: person.name,
      at: now,
    });
    const words = (one: ModelRecord) => ({
      name: one.name,
      family: familyName(context, one.family),
      launched: one.launched ?? say`not known`,
      'price when new': one.newPrice ? formatMoney(one.newPrice, locale) : say`not known`,
    });
    const is = words(saved);
    const was = before ? words(before) : null;
    const changes = Object.entries(is).flatMap(([what, value]) => {
      const old = was && Object.entries(was).find(([key]) => key === what)?.[1];
      return old && old !== value ? [[what, `${value} (was: ${old})`] as const] : [];
    });
    const open = before
      ? store.traces.listOpen().filter((trace) => trace.model === saved.id && trace.family !== saved.family)
      : [];
    return reply({
      title: !before
        ? say`${saved.name} is a ${is.family}`
        : changes.length
          ? say`${saved.name} is changed`
          : say`${saved.name} was so already`,
      tone: 'good',
      blocks: [
        facts(
          before
            ? changes
            : [
                [say`Launched`, is.launched],
                [say`Price when new`, is['price when new']],
              ],
        ),
        ...(open.length
          ? [
              text(
                say`Open traces keep the family they began with: ${open.map(({ number }) => `#${number}`).join(', ')}.`,
              ),
            ]
          : []),
        ...(saved.newPrice
          ? []
          : [text(say`A price when new (new-price:) or prices seen (/prices add) make /worth less rough.`)]),
      ],
      data: { saved: dataOf(saved), before: before && dataOf(before) } satisfies z.infer<
        typeof familyNameData
      >,
    });
  },
});

const forget = defineAction({
  summary: 'Forget a model; one with prices only by a steward',
  who: 'member',
  options: {
    model: lookupOption({ lookup: models, summary: 'The model', example: 'Orrin K3' }),
    prices: optional(
      choiceOption({
        choices: ['remove'],
        summary: 'Say remove to take its prices away with it',
        example: 'remove',
      }),
    ),
  },
  examples: ['/family forget "Orrin K3"'],
  run: ({ model: wanted, prices }, context) => {
    const { store, person } = context;
    const model = store.models.get(Number(wanted.id));
    if (!model) throw new Error(`model ${wanted.id} is gone`);
    const count = store.sightings.count({ model: model.id });
    if (count && (prices !== 'remove' || person.role !== 'steward')) {
      throw new Refusal({
        option: prices ? 'prices' : 'model',
        problem: counted(count, '{1} has {0} price.', '{1} has {0} prices.', model.name),
        expected:
          person.role === 'steward'
            ? say`prices:remove to take them away too; /prices export keeps a copy`
            : say`to ask a steward, who can take the prices away too`,
        example: `/family forget "${model.name}" prices:remove`,
      });
    }
    store.models.remove(model.id);
    return reply({
      title: count
        ? counted(count, '{1} is forgotten, with {0} price', '{1} is forgotten, with {0} prices', model.name)
        : say`${model.name} is forgotten`,
      blocks: [text(say`Traces of it keep their family.`)],
      data: { forgotten: dataOf(model), prices: count } satisfies z.infer<typeof familyForgetData>,
    });
  },
});

export const family = defineCommand({
  name: 'family',
  summary: 'Phones by how they are built, and the models you name as them',
  main: 'list',
  actions: { list, show, name, forget },
});
