import { z } from 'zod';
import { groundInWords } from '../../knowledge/grounds.ts';
import { type Family, type Ground, pairingEffects } from '../../knowledge/schema.ts';
import { listWords, say, translated } from '../../shared/language/say.ts';
import { formatMoney } from '../../shared/money/money.ts';
import { effectWords, pairingTable } from '../../shared/pairing/pairing.ts';
import { type FamilyRepairability, familyRepairability } from '../../shared/repairability/family.ts';
import { cardsFor } from '../../shared/safety/cautions.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption } from '../framework/option.ts';
import { facts, reply, steps, table, text } from '../framework/reply.ts';
import { modelsAndFamilies } from '../shared/lookups.ts';
import { phoneOf } from '../shared/phone.ts';
import { sourcesOf } from '../shared/words.ts';
import { era, eraWords, modelDataOf, modelSchema } from './reply.ts';

const rating = z.object({ index: z.number(), class: z.enum(['A', 'B', 'C', 'D', 'E']) });
/** The EU repairability index; null with what is missing where it cannot be worked out. */
const repairabilityData = z.object({
  rated: rating.nullable(),
  unpaired: rating.nullable(),
  paired: z.array(z.string()),
  assumed: z.array(z.string()),
  missing: z.array(z.string()),
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
  models: z.array(modelSchema),
});

const heldWords: Readonly<Record<Family['cell']['held'], string>> = {
  loose: 'lies loose',
  'pull-tabs': 'pull tabs',
  wrap: 'a wrap with tabs',
  glue: 'glue',
  screws: 'screws',
};

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

export const familyShow = defineAction({
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
                  by.name,
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
        models: named.map(modelDataOf),
      } satisfies z.infer<typeof familyShowData>,
    });
  },
});
