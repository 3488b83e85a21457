import { z } from 'zod';
import { fits } from '../knowledge/features.ts';
import {
  type Component,
  type Family,
  groundSchema,
  type Hazard,
  type Law,
  type Lesson,
  type Pairing,
  pairingEffects,
} from '../knowledge/schema.ts';
import type { Message } from '../shared/language/message.ts';
import {
  atStart,
  counted,
  inRow,
  joined,
  packText,
  plain,
  say,
  typed,
  verbatim,
} from '../shared/language/say.ts';
import { type LawHint, lawFor } from '../shared/pairing/law.ts';
import {
  chanceOf,
  chanceWord,
  effectWords,
  noStatement,
  type PairingOf,
  pairingOf,
  pairingTable,
} from '../shared/pairing/pairing.ts';
import { countReports, speaksOf } from '../shared/pairing/reports.ts';
import { cardsFor } from '../shared/safety/cautions.ts';
import { defineSimpleCommand } from './framework/command.ts';
import type { Context } from './framework/context.ts';
import { type Named, nearestNames } from './framework/lookup.ts';
import { choiceOption, lookupOption, optional } from './framework/option.ts';
import { Refusal } from './framework/refusal.ts';
import { type Draft, type DraftBlock, facts, onBack, reply, steps, table, text } from './framework/reply.ts';
import { components, modelsAndFamilies } from './shared/lookups.ts';
import { countedLines, swapInWords } from './shared/pairing-notes.ts';
import { type Phone, phoneOf } from './shared/phone.ts';
import { componentName, dayIn, groundWords, percent, sourcesOf } from './shared/words.ts';

const lawDataSchema = z.object({
  id: z.string(),
  topic: z.string(),
  from: z.iso.date().nullable(),
  until: z.iso.date().nullable(),
  ground: groundSchema,
  status: z.enum(['in-force', 'to-come', 'undated']),
});
const statementData = z.object({
  id: z.string(),
  effect: z.enum(pairingEffects),
  travels: z.boolean(),
  likely: z.number(),
  strength: z.number(),
  ground: groundSchema,
});
const effect = z.enum(pairingEffects).nullable();
const about = {
  of: z.object({ id: z.string(), family: z.string() }),
  region: z.string().nullable(),
  law: z.array(lawDataSchema),
  /** What has to be set for a fuller answer. */
  lawHint: z.enum(['region', 'state']).nullable(),
};

export const pairedDataSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('component'),
    ...about,
    component: z.string(),
    effect,
    worst: effect,
    travels: z.boolean().nullable(),
    /** Empty where the pack has no statement. */
    statements: z.array(statementData),
    handlingGround: groundSchema,
    lessons: z.array(z.object({ id: z.string(), ground: groundSchema })),
    /** Pack and swap reports together: the pack's own chance (null without a statement), what was seen, and both. */
    counted: z.array(
      z.object({
        effect: z.enum(pairingEffects),
        pack: z.number().nullable(),
        seen: z.number(),
        tried: z.number(),
        chance: z.number(),
        conflict: z.boolean(),
      }),
    ),
    reports: z.array(
      z.object({ number: z.number(), effect: z.enum(pairingEffects), by: z.string(), day: z.iso.date() }),
    ),
  }),
  z.object({
    kind: z.literal('table'),
    ...about,
    rows: z.array(
      z.object({
        component: z.string(),
        effect,
        worst: effect,
        travels: z.boolean().nullable(),
        statements: z.array(statementData),
      }),
    ),
  }),
]);
type PairedData = z.infer<typeof pairedDataSchema>;

/** Lessons shown of those that apply, until all are asked for; `data` has them all. */
const LESSONS_SHOWN = 3;
/** Beyond the law on pairing itself, what bears on swapping one kind of component. */
const alsoBearsOn: Readonly<Record<string, Law['topic']>> = { battery: 'battery', mainboard: 'identity' };

type LawNote = Law & Pick<z.infer<typeof lawDataSchema>, 'status'>;
const lawDataOf = ({ id, topic, from, until, ground, status }: LawNote): z.infer<typeof lawDataSchema> => ({
  id,
  topic,
  from,
  until,
  ground,
  status,
});
function lawNotes({ knowledge, collective, now }: Context, component: string | null) {
  const { region, zone } = collective.settings;
  const also = component === null ? undefined : alsoBearsOn[component];
  const onPairing: Law['topic'][] = ['pairing', 'none-found'];
  // Without a component, all that the pack has on repair there, that on pairing first.
  const topics =
    component === null
      ? [...new Set([...onPairing, ...knowledge.laws.map(({ topic }) => topic)])]
      : [...onPairing, ...(also ? [also] : [])];
  const found = topics.map((topic) => lawFor(knowledge, region, now, topic, zone));
  const laws = found.flatMap(({ inForce, toCome, undated }): LawNote[] => [
    ...inForce.map((law) => ({ ...law, status: 'in-force' as const })),
    ...toCome.map((law) => ({ ...law, status: 'to-come' as const })),
    ...undated.map((law) => ({ ...law, status: 'undated' as const })),
  ]);
  return { laws, hint: found[0]?.hint ?? null };
}

const since = ({ status, from }: LawNote): Message =>
  status === 'in-force'
    ? say`In force since ${verbatim(from ?? '')}`
    : status === 'to-come'
      ? say`NOT YET IN FORCE: from ${verbatim(from ?? '')}`
      : say`First day not in this pack`;

/** How often a swap does what its likeliest statement says, for the title. */
const swapWords = ({ likely, effect: which }: Pick<Pairing, 'likely' | 'effect'>): Message => {
  const does = effectWords[which];
  return {
    expect: say`a swap ${does}`,
    likely: say`a swap often ${does}`,
    possible: say`a swap sometimes ${does}`,
    seldom: say`a swap seldom ${does}`,
  }[chanceOf(likely)];
};
const hintWords = (hint: LawHint): Message =>
  hint.set === 'region'
    ? say`The law depends on the place. A steward sets it: /setup region:DE, or region:US-OR.`
    : say`The law differs within ${typed(hint.region)}: set the state, such as ${typed(`/setup region:${hint.example}`)}.`;

/** The law, each with its day; of the topics given also what it says and does not reach, of others the title. */
function lawBlocks(
  laws: readonly LawNote[],
  hint: LawHint | null,
  region: string | null,
  full: readonly Law['topic'][] | 'all',
): DraftBlock[] {
  const lines = laws.map((law) => {
    const short = [
      plain`${packText(law.title)}.`,
      ...(law.topic === 'none-found' ? [] : [plain`${since(law)}.`]),
    ];
    if (full !== 'all' && !full.includes(law.topic)) return joined(short);
    return joined([
      ...short,
      ...law.says.map((one) => packText(one)),
      ...law.limits.map((limit) => say`Limit: ${packText(limit)}`),
    ]);
  });
  const none = say`No law on pairing for ${typed(region ?? '')} is in this pack; that is no proof that there is none.`;
  const heading = region === null ? say`The law` : say`The law in ${typed(region ?? '')}`;
  const onPairing = laws.some(({ topic }) => topic === 'pairing' || topic === 'none-found');
  const says = [
    ...lines,
    ...(region !== null && !onPairing ? [none] : []),
    ...(hint ? [hintWords(hint)] : []),
  ];
  return says.length ? [steps(says, heading, false)] : [];
}

/** Lessons about a component, leaving out those that need a feature the family lacks; the family's own features first. */
function lessonsAbout({ knowledge }: Context, family: Family, component: string): Lesson[] {
  const featuresOf = (lesson: Lesson) => lesson.about.filter((id) => knowledge.features.has(id));
  return knowledge.lessons
    .filter((lesson) => lesson.about.includes(component))
    .filter((lesson) => {
      const features = featuresOf(lesson);
      return !features.length || features.some((id) => family.features.includes(id));
    })
    .sort((a, b) => Number(featuresOf(b).length > 0) - Number(featuresOf(a).length > 0));
}

/** What the swap itself brings: a look-up tells nothing of getting in, and warns of nothing but the act it tells of. */
function swapHazards({ knowledge }: Context, family: Family, component: string): Set<Hazard> {
  const swaps = [...knowledge.remedies.values()].filter(
    (remedy) =>
      remedy.parts.length > 0 &&
      remedy.parts.every((part) => part.component === component) &&
      fits(family, remedy),
  );
  return new Set(swaps.flatMap(({ hazards }) => hazards));
}

const REPORTS_SHOWN = 5;
/** The newest reports of a component that are looked through for those of the family. */
const REPORTS_READ = 50;

const statementsData = ({ statements }: PairingOf): z.infer<typeof statementData>[] =>
  statements.map(({ id, effect: which, travels, likely, strength, ground }) => ({
    id,
    effect: which,
    travels,
    likely,
    strength,
    ground,
  }));

/** Names of the components that must stay with the mainboard they came with. */
const goWithBoard = (context: Context, family: Family): Message[] =>
  pairingTable(context.knowledge, family)
    .filter(({ travels }) => travels)
    .map(({ component }) => componentName(context, component));

function componentReply(
  of: Named,
  phone: Phone,
  component: Component,
  context: Context,
  allLessons: boolean,
): Draft<PairedData> {
  const { family } = phone;
  const { knowledge, collective } = context;
  const { region } = collective.settings;
  const pairing = pairingOf(knowledge, family, component.id);
  const { laws, hint } = lawNotes(context, allLessons ? null : component.id);
  const lessons = lessonsAbout(context, family, component.id);
  const { statements } = pairing;
  const [first] = statements;
  const withBoard = goWithBoard(context, family);
  const counted = countReports(knowledge, family, component.id, context.store.swaps.countsOf(component.id));
  const swaps = context.store.swaps.list({ component: component.id, limit: REPORTS_READ });
  const own = swaps.filter(
    (swap) =>
      swap.family === family.id ||
      pairing.statements.some(({ when }) => speaksOf(swap.family, family, when, knowledge)),
  );
  const lines = countedLines(counted);

  const answer: DraftBlock[] = first
    ? [
        text(
          component.id === 'mainboard'
            ? withBoard.length
              ? say`Must go with it: ${inRow(withBoard)}.`
              : say`Must go with it: nothing that the pack names.`
            : pairing.travels
              ? say`It must travel with its board: keep the first one with this phone.`
              : say`It need not travel with the board.`,
        ),
        ...statements.map((one) =>
          text(
            plain`${atStart(effectWords[one.effect])}: ${chanceWord(one.likely)}, ${percent(one.likely)}. ${packText(one.mends)}`,
          ),
        ),
        ...onBack(
          ...statements.map((one) =>
            facts(
              [
                [say`Loses`, packText(one.loses)],
                [say`Mends it`, packText(one.mends)],
                [say`Ground`, groundWords(context, one.ground)],
              ],
              say`${atStart(effectWords[one.effect])}: ${chanceWord(one.likely)}, about ${percent(one.likely)}`,
            ),
          ),
          text(
            joined([
              ...(pairing.sourced ? [] : [noStatement, say`The above is what benches see.`]),
              say`Each chance is common practice, no source.`,
            ]),
          ),
        ),
      ]
    : [
        text(
          say`That does not mean that it is free of pairing: test the function before closing, with the first one at hand.`,
        ),
      ];

  const data: PairedData = {
    kind: 'component',
    of: { id: of.id, family: family.id },
    region,
    law: laws.map(lawDataOf),
    lawHint: hint?.set ?? null,
    component: component.id,
    effect: pairing.effect,
    worst: pairing.worst,
    travels: first ? pairing.travels : null,
    statements: statementsData(pairing),
    handlingGround: component.ground,
    lessons: lessons.map(({ id, ground }) => ({ id, ground })),
    counted: counted.map(({ effect: which, statement, seen, tried, chance, conflict }) => ({
      effect: which,
      pack: statement?.likely ?? null,
      seen,
      tried,
      chance,
      conflict,
    })),
    reports: own.map((swap) => ({
      number: swap.number,
      effect: swap.effect,
      by: swap.by.name,
      day: dayIn(context, swap.at),
    })),
  };
  const shown = allLessons ? lessons : lessons.slice(0, LESSONS_SHOWN);
  return reply({
    title: say`${atStart(packText(component.name))} of ${phone.name}: ${first ? swapWords(first) : noStatement}`,
    tone: pairing.travels || first?.effect === 'lost' ? 'caution' : 'plain',
    cautions: cardsFor(knowledge, swapHazards(context, family, component.id), region),
    blocks: [...answer, ...onBack(...behind())],
    choices: [
      ...(shown.length < lessons.length
        ? [
            {
              label: say`All ${lessons.length} worth knowing`,
              invoke: {
                command: 'paired',
                action: '',
                options: { of: of.id, component: component.id, lessons: 'all' },
              },
              open: true,
              aside: true,
            },
          ]
        : []),
      {
        label: say`All components of this family`,
        invoke: { command: 'paired', action: '', options: { of: of.id } },
        open: true,
        aside: true,
      },
    ],
    sources: sourcesOf(knowledge, [
      ...statements.map(({ ground }) => ground),
      ...shown.map(({ ground }) => ground),
      ...laws.map(({ ground }) => ground),
    ]),
    data,
  });

  function behind(): DraftBlock[] {
    return [
      ...(lines.length ? [steps(lines, say`Pack and bench together`, false)] : []),
      ...(own.length
        ? [
            steps(
              own
                .slice(0, REPORTS_SHOWN)
                .map(
                  (swap) =>
                    say`${verbatim(dayIn(context, swap.at))}, ${verbatim(swap.by.name)}: ${swapInWords(context, swap)} (report ${swap.number})`,
                ),
              own.length > REPORTS_SHOWN
                ? say`Seen here, the newest ${REPORTS_SHOWN} of ${own.length}`
                : say`Seen here`,
              false,
            ),
          ]
        : []),
      steps(
        component.handling.map((one) => packText(one)),
        say`Handling (${groundWords(context, component.ground)})`,
        false,
      ),
      ...(shown.length
        ? [
            steps(
              shown.map(({ says, ground }) => plain`${packText(says)} (${groundWords(context, ground)})`),
              shown.length < lessons.length
                ? say`Worth knowing, ${shown.length} of ${lessons.length}`
                : say`Worth knowing`,
              false,
            ),
          ]
        : []),
      ...lawBlocks(laws, hint, region, allLessons ? 'all' : ['pairing', 'none-found']),
    ];
  }
}

/** What a swap does most likely, and of which components. */
function byEffect(context: Context, rows: readonly PairingOf[]): [Message, Message][] {
  const named = (of: readonly PairingOf[]) =>
    inRow(of.map(({ component }) => componentName(context, component)));
  return [...pairingEffects, null].flatMap((which): [Message, Message][] => {
    const of = rows.filter(({ effect: its }) => its === which);
    if (!of.length) return [];
    return [[which === null ? say`no statement found` : say`a swap ${effectWords[which]}`, named(of)]];
  });
}

function tableReply(of: Named, phone: Phone, context: Context): Draft<PairedData> {
  const { family, name } = phone;
  const { knowledge, collective } = context;
  const { region } = collective.settings;
  const { laws, hint } = lawNotes(context, null);
  const rows = pairingTable(knowledge, family);
  const travel = goWithBoard(context, family);
  const groundMark = ({ statements }: PairingOf): Message => {
    const [first] = statements;
    if (!first) return say`none`;
    if (first.ground === 'practice') return say`practice`;
    if (first.ground === 'memory') return say`memory`;
    return verbatim(knowledge.sources.get(first.ground.source)?.publisher ?? first.ground.source);
  };
  const data: PairedData = {
    kind: 'table',
    of: { id: of.id, family: family.id },
    region,
    law: laws.map(lawDataOf),
    lawHint: hint?.set ?? null,
    rows: rows.map((row) => ({
      component: row.component,
      effect: row.effect,
      worst: row.worst,
      travels: row.statements.length ? row.travels : null,
      statements: statementsData(row),
    })),
  };
  return reply({
    title: travel.length
      ? counted(
          travel.length,
          '{1}: with the board travels {2}',
          '{1}: with the board travel {2}',
          name,
          inRow(travel),
        )
      : say`${name}: nothing in the pack says that a component must travel with the board`,
    tone: travel.length ? 'caution' : 'plain',
    blocks: [
      facts(byEffect(context, rows)),
      ...onBack(...whole()),
      text(say`One component, with what mends it: /paired "${name}" component:battery`),
    ],
    sources: sourcesOf(knowledge, [
      ...rows.flatMap(({ statements }) => statements.map(({ ground }) => ground)),
      ...laws.map(({ ground }) => ground),
    ]),
    data,
  });

  function whole(): DraftBlock[] {
    return [
      table(
        [say`component`, say`a swap`, say`travels with board`, say`ground`],
        rows.map((row) => [
          componentName(context, row.component),
          row.effect === null ? say`no statement found` : effectWords[row.effect],
          row.component === 'mainboard'
            ? say`is the board`
            : row.effect === null
              ? say`not known`
              : row.travels
                ? say`yes`
                : say`no`,
          groundMark(row),
        ]),
      ),
      text(
        say`Each row shows the likeliest effect. practice: common practice, no source. "no statement found": ${noStatement} Such a component may be paired all the same.`,
      ),
      ...lawBlocks(laws, hint, region, []),
    ];
  }
}

export const paired = defineSimpleCommand({
  name: 'paired',
  summary: say`What swapping a component does, and what must travel with the board`,
  options: {
    of: lookupOption({
      lookup: modelsAndFamilies,
      summary: say`A model your collective has named, or a family`,
      example: 'Orrin K3',
    }),
    component: optional(
      lookupOption({
        lookup: components,
        summary: say`One component; the whole table without it`,
        example: 'battery',
      }),
    ),
    lessons: optional(
      choiceOption({
        choices: ['all'],
        summary: say`All that is worth knowing about the component, and all law on repair there`,
        example: 'all',
      }),
    ),
  },
  examples: ['/paired "Orrin K3" component:battery', '/paired glued-front-home-sensor'],

  data: pairedDataSchema,
  run({ of, component, lessons }, context) {
    const phone = phoneOf(context, of);
    const { family } = phone;
    if (!component) return tableReply(of, phone, context);
    const found = context.knowledge.components.get(component.id);
    if (found && component.id in family.components)
      return componentReply(of, phone, found, context, lessons === 'all');
    const own = components.entries(context).filter(({ id }) => id in family.components);
    throw new Refusal({
      code: 'bad-option',
      problem: say`${phone.name} has no ${verbatim(component.name)}.`,
      expected: inRow(own.map(({ name }) => verbatim(name))),
      nearest: nearestNames(component.name, own),
      option: 'component',
    });
  },
});
