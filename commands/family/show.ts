import { z } from 'zod';
import { type Family, type Ground, type Lesson, pairingEffects } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  fixed,
  inRow,
  joined,
  listWords,
  packText,
  plain,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import { effectWords, pairingTable } from '../../shared/pairing/pairing.ts';
import {
  type Assumption,
  assumptions,
  type FamilyRepairability,
  familyRepairability,
  LEAST_UPDATES,
  type Missing,
} from '../../shared/repairability/family.ts';
import { cardsFor } from '../../shared/safety/cautions.ts';
import type { ModelRecord } from '../../shared/store/index.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption } from '../framework/option.ts';
import { type DraftBlock, facts, onBack, reply, right, steps, table, text } from '../framework/reply.ts';
import { modelsAndFamilies } from '../shared/lookups.ts';
import { phoneOf } from '../shared/phone.ts';
import { componentName, groundWords, sourcesOf } from '../shared/words.ts';
import { era, eraWords, modelDataOf, modelSchema, versionsTable } from './reply.ts';

const rating = z.object({ index: z.number(), class: z.enum(['A', 'B', 'C', 'D', 'E']) });
/** The EU repairability index; null with what is missing where it cannot be worked out. */
const repairabilityData = z.object({
  rated: rating.nullable(),
  unpaired: rating.nullable(),
  paired: z.array(z.string()),
  assumed: z.array(z.enum(assumptions)),
  /** `disassembly` with the id of the component behind it. */
  missing: z.array(z.string()),
});

export const familyShowData = z.object({
  id: z.string(),
  era,
  features: z.array(z.string()),
  components: z.array(z.string()),
  /** Components by their likeliest effect of a swap; `none` has no statement in the pack. */
  pairing: z.record(z.enum([...pairingEffects, 'none']), z.number().int()),
  lessons: z.array(z.string()),
  repairability: repairabilityData,
  models: z.array(modelSchema),
});

const heldWords: Readonly<Record<Family['cell']['held'], Message>> = {
  loose: say`lies loose`,
  'pull-tabs': say`pull tabs`,
  wrap: say`a wrap with tabs`,
  glue: say`glue`,
  released: say`glue that a current lets go`,
  screws: say`screws`,
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

function pairingWords(counts: ReturnType<typeof pairingCounts>): Message {
  const stated = pairingEffects
    .filter((effect) => counts[effect] > 0)
    .map((effect) => say`${counts[effect]} where a swap ${effectWords[effect]}`);
  const none = counts.none ? [say`${counts.none} without an official statement that was found`] : [];
  return joined([...stated, ...none], '; ');
}

/** Two decimals, cut: what is short of a class is not shown as reaching it. */
const cut = (index: number): Message => fixed(Math.floor(index * 100 + 1e-6) / 100, 2);

/** The label's index, where it stands, and what it rests on. */
function repairabilityFact(context: Context, found: FamilyRepairability): Message {
  if (!found.known) {
    const missing = found.missing.map((one) =>
      one.what === 'disassembly'
        ? say`how the ${componentName(context, one.component)} comes out`
        : missingWords[one.what],
    );
    return say`not worked out; not known: ${listWords(missing)}`;
  }
  const { rated, unpaired, paired, assumed, spares } = found;
  const pairing = paired.length
    ? say`That is with the pairing of ${listWords(paired.map((id) => componentName(context, id)))}; unpaired it would be ${cut(unpaired.index)}, class ${typed(unpaired.class)}.`
    : '';
  const given = assumed.map((one) =>
    one !== 'spares'
      ? assumedWords[one]
      : spares === 'display-battery-back'
        ? sparesWords.withBack
        : sparesWords.withoutBack,
  );
  return joined([
    say`about ${cut(rated.index)} of 5, class ${typed(rated.class)}.`,
    pairing,
    say`Assumed: ${joined(given, '; ')}.`,
    say`A model's own label comes first.`,
  ]);
}

const missingWords = {
  smartphone: say`whether it counts as a smartphone, which the index is for`,
  spares: say`which spare parts go to whom`,
  updates: say`years of updates`,
  information: say`access to repair information`,
} as const;
const assumedWords: Readonly<Record<Exclude<Assumption, 'spares'>, Message>> = {
  disassembly: say`steps, fasteners and tools as they are common in this build`,
  'both-pairing-actions': say`both a remote notification and an authorisation for each paired part: ten more steps each`,
};
const sparesWords = {
  withBack: say`spare parts (display, battery and back cover to end-users), updates (${LEAST_UPDATES} years) and repair information (at a fee) at the least that Regulation (EU) 2023/1670 asks from 20 June 2025`,
  withoutBack: say`spare parts (display and battery to end-users), updates (${LEAST_UPDATES} years) and repair information (at a fee) at the least that Regulation (EU) 2023/1670 asks from 20 June 2025`,
};

const missingId = (one: Missing): string =>
  one.what === 'disassembly' ? `${one.what}:${one.component}` : one.what;

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
    : { rated: null, unpaired: null, paired: [], assumed: [], missing: found.missing.map(missingId) };

/** What the index is worked out from. */
const INDEX_SOURCES: readonly Ground[] = [
  { source: 'eu-2023-1669', at: 'Annex IV 5' },
  { source: 'eu-2023-1670', at: 'Annex II Part B 1.1' },
];

const LESSONS = 5;

/** What stands behind the answer: the whole build, how it opens, what benches know, and its models. */
function behindFamily(
  context: Context,
  family: Family,
  {
    counts,
    lessons,
    named,
    repairability,
  }: {
    counts: ReturnType<typeof pairingCounts>;
    lessons: readonly Lesson[];
    named: readonly ModelRecord[];
    repairability: FamilyRepairability;
  },
): DraftBlock[] {
  const { open, close, board, cell } = family;
  const components = Object.keys(family.components).map((id) => componentName(context, id));
  return [
    facts([
      [say`Built`, eraWords(family)],
      [say`Board out`, say`about ${board.minutes} min more`],
      [say`Closing and seal`, packText(close.note)],
      [say`The cell`, packText(cell.note)],
      [say`Components`, plain`${components.length}: ${inRow(components)}`],
      [say`Pairing`, pairingWords(counts)],
      [say`Repairability index`, repairabilityFact(context, repairability)],
    ]),
    steps(
      open.steps.map((one) => packText(one)),
      say`How it opens`,
    ),
    ...(lessons.length
      ? [
          steps(
            lessons
              .slice(0, LESSONS)
              .map(({ says, ground }) => plain`${packText(says)} (${groundWords(context, ground)})`),
            say`What benches know`,
            false,
          ),
        ]
      : []),
    ...(named.length
      ? [
          table(
            [say`Model`, say`Launched`, right(say`When new`), say`Named by`],
            named.map(({ name, launched, newPrice, by }) => [
              verbatim(name),
              launched === null ? '' : verbatim(launched),
              newPrice ? amount(newPrice) : '',
              verbatim(by.name),
            ]),
          ),
        ]
      : [text(say`No model is named as this yet: /family name "Orrin K3" as:${typed(family.id)}`)]),
    text(say`Ground of the build: ${groundWords(context, family.ground)}.`),
  ];
}

export const familyShow = defineAction({
  summary: say`Show how a family is built: how it opens, seals and holds its cell, and what is paired`,
  options: {
    family: lookupOption({
      lookup: modelsAndFamilies,
      summary: say`A family, or a model you have named`,
      example: 'Orrin K3',
    }),
  },
  examples: ['/family show "Orrin K3"'],

  data: familyShowData,
  run: ({ family: wanted }, context) => {
    const { knowledge, store, collective } = context;
    const { family, model } = phoneOf(context, wanted);
    const named = store.models.list().filter((model) => model.family === family.id);
    const counts = pairingCounts(context, family);
    const lessons = knowledge.lessons.filter(({ about }) => about.some((id) => family.features.includes(id)));
    const { open, close, cell } = family;
    const repairability = familyRepairability(knowledge, family);
    return reply({
      title: packText(family.name),
      cautions: cardsFor(knowledge, [...open.hazards, ...close.hazards], collective.settings.region),
      blocks: [
        text(packText(family.about)),
        facts([
          [
            say`Opens`,
            open.tools.length
              ? say`about ${open.minutes} min, with ${listWords(open.tools.map((one) => packText(one)))}`
              : say`about ${open.minutes} min`,
          ],
          [say`Opening costs`, open.breaks === null ? say`nothing` : packText(open.breaks)],
          [say`Holds its cell by`, heldWords[cell.held]],
          [say`Pairing`, typed(`/paired ${family.id}`)],
        ]),
        ...(model ? versionsTable(context, model) : []),
        ...onBack(...behindFamily(context, family, { counts, lessons, named, repairability })),
      ],
      sources: sourcesOf(knowledge, [
        family.ground,
        ...lessons.slice(0, LESSONS).map(({ ground }) => ground),
        ...INDEX_SOURCES,
      ]),
      data: {
        id: family.id,
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
