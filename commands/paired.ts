import { z } from 'zod';
import { fits } from '../knowledge/features.ts';
import { groundInWords } from '../knowledge/grounds.ts';
import {
  type Component,
  type Family,
  groundSchema,
  type Hazard,
  type Law,
  type Lesson,
  lawSchema,
  pairingEffects,
  pairingSchema,
} from '../knowledge/schema.ts';
import { counted, say, translated } from '../shared/language/say.ts';
import { lawFor } from '../shared/pairing/law.ts';
import {
  chanceWord,
  effectWords,
  NO_STATEMENT,
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
import { type Block, facts, type Reply, reply, steps, table, text } from './framework/reply.ts';
import { components, modelsAndFamilies } from './shared/lookups.ts';
import { capital, chanceWords, countedLines, swapInWords } from './shared/pairing-notes.ts';
import { phoneOf } from './shared/phone.ts';
import { dayIn, percent, sourcesOf } from './shared/words.ts';

const lawDataSchema = lawSchema.extend({ status: z.enum(['in-force', 'to-come', 'undated']) });
const effect = z.enum(pairingEffects).nullable();
const about = {
  of: z.object({ id: z.string(), name: z.string(), family: z.string() }),
  region: z.string().nullable(),
  law: z.array(lawDataSchema),
  lawHint: z.string().nullable(),
};

export const pairedDataSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('component'),
    ...about,
    component: z.object({ id: z.string(), name: z.string() }),
    effect,
    worst: effect,
    travels: z.boolean().nullable(),
    /** The fixed sentence where the pack has no statement, else null. */
    noStatement: z.string().nullable(),
    statements: z.array(pairingSchema.extend({ groundText: z.string() })),
    handling: z.array(z.string()),
    handlingGround: groundSchema,
    lessons: z.array(z.object({ id: z.string(), says: z.string(), ground: groundSchema })),
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
    reports: z.array(z.object({ number: z.number(), says: z.string(), by: z.string(), day: z.string() })),
  }),
  z.object({
    kind: z.literal('table'),
    ...about,
    rows: z.array(
      z.object({
        component: z.string(),
        name: z.string(),
        effect,
        worst: effect,
        travels: z.boolean().nullable(),
        statements: z.array(pairingSchema.extend({ groundText: z.string() })),
      }),
    ),
  }),
]);
type PairedData = z.infer<typeof pairedDataSchema>;

/** Lessons shown of those that apply, until all are asked for; `data` has them all. */
const LESSONS_SHOWN = 3;
/** Beyond the law on pairing itself, what bears on swapping one kind of component. */
const alsoBearsOn: Readonly<Record<string, Law['topic']>> = { battery: 'battery', mainboard: 'identity' };

type LawNote = z.infer<typeof lawDataSchema>;
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

const since = ({ status, from }: LawNote): string =>
  status === 'in-force'
    ? say`In force since ${from}`
    : status === 'to-come'
      ? say`NOT YET IN FORCE: from ${from}`
      : say`First day not in this pack`;

/** How often a swap does what its likeliest statement says, for the title. */
const swapWords: Readonly<Record<string, string>> = {
  expect: 'a swap',
  likely: 'a swap often',
  possible: 'a swap sometimes',
  seldom: 'a swap seldom',
};

/** The law, each with its day; of the topics given also what it says and does not reach, of others the title. */
function lawBlocks(
  laws: readonly LawNote[],
  hint: string | null,
  region: string | null,
  full: readonly Law['topic'][] | 'all',
): Block[] {
  const lines = laws.map((law) => {
    const short = `${law.title}.${law.topic === 'none-found' ? '' : ` ${since(law)}.`}`;
    if (full !== 'all' && !full.includes(law.topic)) return short;
    return [short, ...law.says, ...law.limits.map((limit) => say`Limit: ${limit}`)].join(' ');
  });
  const none = say`No law on pairing for ${region} is in this pack; that is no proof that there is none.`;
  const heading = region === null ? say`The law` : say`The law in ${region}`;
  const onPairing = laws.some(({ topic }) => topic === 'pairing' || topic === 'none-found');
  const says = [...lines, ...(region !== null && !onPairing ? [none] : []), ...(hint ? [hint] : [])];
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

const withGround = (context: Context, { statements }: PairingOf) =>
  statements.map((one) => ({ ...one, groundText: groundInWords(context.knowledge, one.ground) }));

/** Names of the components that must stay with the mainboard they came with. */
const goWithBoard = (knowledge: Context['knowledge'], family: Family): string[] =>
  pairingTable(knowledge, family)
    .filter(({ travels }) => travels)
    .map(({ component }) => knowledge.components.get(component)?.name ?? component);

function componentReply(
  of: Named,
  family: Family,
  component: Component,
  context: Context,
  allLessons: boolean,
): Reply {
  const { knowledge, collective } = context;
  const { region } = collective.settings;
  const pairing = pairingOf(knowledge, family, component.id);
  const { laws, hint } = lawNotes(context, allLessons ? null : component.id);
  const lessons = lessonsAbout(context, family, component.id);
  const statements = withGround(context, pairing);
  const [first] = statements;
  const counted = countReports(knowledge, family, component.id, context.store.swaps.countsOf(component.id));
  const swaps = context.store.swaps.list({ component: component.id, limit: REPORTS_READ });
  const own = swaps.filter(
    (swap) =>
      swap.family === family.id ||
      pairing.statements.some(({ when }) => speaksOf(swap.family, family, when, knowledge)),
  );
  const lines = countedLines(counted);

  const answer: Block[] = first
    ? [
        text(
          component.id === 'mainboard'
            ? say`Must go with it: ${goWithBoard(knowledge, family).join(', ') || say`nothing that the pack names`}.`
            : pairing.travels
              ? say`It must travel with its board: keep the first one with this phone.`
              : say`It need not travel with the board.`,
        ),
        ...statements.map((one) =>
          facts(
            [
              [say`Loses`, one.loses],
              [say`Mends it`, one.mends],
              [say`Ground`, one.groundText],
            ],
            say`${capital(translated(effectWords[one.effect]))}: ${translated(chanceWords[chanceWord(one.likely)])}, about ${percent(one.likely)}`,
          ),
        ),
        text(
          say`${pairing.sourced ? '' : say`${translated(NO_STATEMENT)} The above is what benches see. `}Each chance is common practice, no source.`,
        ),
      ]
    : [
        text(
          say`That does not mean that it is free of pairing: test the function before closing, with the first one at hand.`,
        ),
      ];

  const data: PairedData = {
    kind: 'component',
    of: { id: of.id, name: of.name, family: family.id },
    region,
    law: laws,
    lawHint: hint,
    component: { id: component.id, name: component.name },
    effect: pairing.effect,
    worst: pairing.worst,
    travels: first ? pairing.travels : null,
    noStatement: first ? null : NO_STATEMENT,
    statements,
    handling: component.handling,
    handlingGround: component.ground,
    lessons: lessons.map(({ id, says, ground }) => ({ id, says, ground })),
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
      says: swapInWords(context, swap),
      by: swap.by.name,
      day: dayIn(context, swap.at),
    })),
  };
  const shown = allLessons ? lessons : lessons.slice(0, LESSONS_SHOWN);
  return reply({
    title: say`${capital(component.name)} of ${of.name}: ${first ? `${translated(swapWords[chanceWord(first.likely)])} ${translated(effectWords[first.effect])}` : translated(NO_STATEMENT)}`,
    tone: pairing.travels || first?.effect === 'lost' ? 'caution' : 'plain',
    cautions: cardsFor(knowledge, swapHazards(context, family, component.id), region),
    blocks: [
      ...answer,
      ...(lines.length ? [steps(lines, say`Pack and bench together`, false)] : []),
      ...(own.length
        ? [
            steps(
              own
                .slice(0, REPORTS_SHOWN)
                .map(
                  (swap) =>
                    say`${dayIn(context, swap.at)}, ${swap.by.name}: ${swapInWords(context, swap)} (report ${swap.number})`,
                ),
              own.length > REPORTS_SHOWN
                ? say`Seen here, the newest ${REPORTS_SHOWN} of ${own.length}`
                : say`Seen here`,
              false,
            ),
          ]
        : []),
      steps(component.handling, say`Handling (${groundInWords(knowledge, component.ground)})`, false),
      ...(shown.length
        ? [
            steps(
              shown.map(({ says, ground }) => `${says} (${groundInWords(knowledge, ground)})`),
              shown.length < lessons.length
                ? say`Worth knowing, ${shown.length} of ${lessons.length}`
                : say`Worth knowing`,
              false,
            ),
          ]
        : []),
      ...lawBlocks(laws, hint, region, allLessons ? 'all' : ['pairing', 'none-found']),
    ],
    choices: [
      ...(shown.length < lessons.length
        ? [
            {
              label: say`All ${lessons.length} worth knowing`,
              invoke: {
                command: 'paired',
                action: '',
                options: { of: of.name, component: component.name, lessons: 'all' },
              },
              open: true,
            },
          ]
        : []),
      {
        label: say`All components of this family`,
        invoke: { command: 'paired', action: '', options: { of: of.name } },
        open: true,
      },
    ],
    sources: sourcesOf(knowledge, [
      ...statements.map(({ ground }) => ground),
      ...shown.map(({ ground }) => ground),
      ...laws.map(({ ground }) => ground),
    ]),
    data,
  });
}

function tableReply(of: Named, family: Family, context: Context): Reply {
  const { knowledge, collective } = context;
  const { region } = collective.settings;
  const { laws, hint } = lawNotes(context, null);
  const rows = pairingTable(knowledge, family);
  const nameOf = (id: string) => knowledge.components.get(id)?.name ?? id;
  const travel = goWithBoard(knowledge, family);
  const groundMark = ({ statements }: PairingOf): string => {
    const [first] = statements;
    if (!first) return 'none';
    return typeof first.ground === 'string'
      ? first.ground
      : (knowledge.sources.get(first.ground.source)?.publisher ?? first.ground.source);
  };
  const data: PairedData = {
    kind: 'table',
    of: { id: of.id, name: of.name, family: family.id },
    region,
    law: laws,
    lawHint: hint,
    rows: rows.map((row) => ({
      component: row.component,
      name: nameOf(row.component),
      effect: row.effect,
      worst: row.worst,
      travels: row.statements.length ? row.travels : null,
      statements: withGround(context, row),
    })),
  };
  return reply({
    title: travel.length
      ? counted(
          travel.length,
          '{1}: with the board travels {2}',
          '{1}: with the board travel {2}',
          of.name,
          travel.join(', '),
        )
      : say`${of.name}: nothing in the pack says that a component must travel with the board`,
    tone: travel.length ? 'caution' : 'plain',
    blocks: [
      table(
        ['component', say`a swap`, say`travels with board`, 'ground'],
        rows.map((row) => [
          nameOf(row.component),
          row.effect === null ? say`no statement found` : translated(effectWords[row.effect]),
          row.component === 'mainboard'
            ? say`is the board`
            : row.effect === null
              ? say`not known`
              : row.travels
                ? 'yes'
                : 'no',
          groundMark(row),
        ]),
      ),
      text(
        say`Each row shows the likeliest effect. practice: common practice, no source. "no statement found": ${translated(NO_STATEMENT)} Such a component may be paired all the same.`,
      ),
      ...lawBlocks(laws, hint, region, []),
      text(say`One component, with what mends it: /paired "${of.name}" component:battery`),
    ],
    sources: sourcesOf(knowledge, [
      ...rows.flatMap(({ statements }) => statements.map(({ ground }) => ground)),
      ...laws.map(({ ground }) => ground),
    ]),
    data,
  });
}

export const paired = defineSimpleCommand({
  name: 'paired',
  summary: 'What swapping a component does, and what must travel with the board',
  options: {
    of: lookupOption({
      lookup: modelsAndFamilies,
      summary: 'A model your collective has named, or a family',
      example: 'Orrin K3',
    }),
    component: optional(
      lookupOption({
        lookup: components,
        summary: 'One component; the whole table without it',
        example: 'battery',
      }),
    ),
    lessons: optional(
      choiceOption({
        choices: ['all'],
        summary: 'All that is worth knowing about the component, and all law on repair there',
        example: 'all',
      }),
    ),
  },
  examples: ['/paired "Orrin K3" component:battery', '/paired glued-front-home-sensor'],
  run({ of, component, lessons }, context) {
    const { family } = phoneOf(context, of);
    if (!component) return tableReply(of, family, context);
    const found = context.knowledge.components.get(component.id);
    if (found && component.id in family.components)
      return componentReply(of, family, found, context, lessons === 'all');
    const own = components.entries(context).filter(({ id }) => id in family.components);
    throw new Refusal({
      problem: say`${of.name} has no ${component.name}.`,
      expected: own.map(({ name }) => name).join(', '),
      nearest: nearestNames(component.name, own),
      option: 'component',
    });
  },
});
