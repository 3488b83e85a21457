import { fits } from '../../knowledge/features.ts';
import type { Component, Family, Hazard, Lesson, Pairing } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { atStart, inRow, joined, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import {
  chanceOf,
  chanceWord,
  effectWords,
  noStatement,
  type PairingOf,
  pairingOf,
} from '../../shared/pairing/pairing.ts';
import { countReports, speaksOf } from '../../shared/pairing/reports.ts';
import { cardsFor } from '../../shared/safety/cautions.ts';
import type { SwapRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import {
  type Draft,
  type DraftBlock,
  type DraftChoice,
  facts,
  onBack,
  reply,
  steps,
  text,
} from '../framework/reply.ts';
import { countedLines, swapInWords } from '../shared/pairing-notes.ts';
import type { Phone } from '../shared/phone.ts';
import { dayIn, dayOf, groundWords, percent, sourcesOf } from '../shared/words.ts';
import { goWithBoard } from './go-with-board.ts';
import { lawBlocks, lawDataOf, lawNotes } from './law-blocks.ts';
import { type PairedData, statementsData } from './paired-data.ts';

/** Lessons shown of those that apply, until all are asked for; `data` has them all. */
const LESSONS_SHOWN = 3;
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

/** What is known of the swap of one component. */
interface Swapped {
  named: Named;
  phone: Phone;
  component: Component;
  pairing: PairingOf;
  law: ReturnType<typeof lawNotes>;
  lessons: Lesson[];
  /** Those of them that are shown. */
  shown: Lesson[];
  /** Pack and reports together. */
  chances: ReturnType<typeof countReports>;
  /** Reports that speak of this family. */
  reports: SwapRecord[];
}

function swapped(
  named: Named,
  phone: Phone,
  component: Component,
  context: Context,
  allLessons: boolean,
): Swapped {
  const { family } = phone;
  const { knowledge, store } = context;
  const pairing = pairingOf(knowledge, family, component.id);
  const lessons = lessonsAbout(context, family, component.id);
  const swaps = store.swaps.list({ component: component.id, limit: REPORTS_READ });
  return {
    named,
    phone,
    component,
    pairing,
    law: lawNotes(context, allLessons ? null : component.id),
    lessons,
    shown: allLessons ? lessons : lessons.slice(0, LESSONS_SHOWN),
    chances: countReports(knowledge, family, component.id, store.swaps.countsOf(component.id)),
    reports: swaps.filter(
      (swap) =>
        swap.family === family.id ||
        pairing.statements.some(({ when }) => speaksOf(swap.family, family, when, knowledge)),
    ),
  };
}

const componentData = (
  { named, phone: { family }, component, pairing, law, lessons, chances, reports: own }: Swapped,
  context: Context,
): PairedData => ({
  kind: 'component',
  of: { id: named.id, family: family.id },
  region: context.collective.settings.region,
  law: law.laws.map(lawDataOf),
  lawHint: law.hint?.set ?? null,
  component: component.id,
  effect: pairing.effect,
  worst: pairing.worst,
  travels: pairing.statements.length ? pairing.travels : null,
  statements: statementsData(pairing),
  handlingGround: component.ground,
  lessons: lessons.map(({ id, ground }) => ({ id, ground })),
  counted: chances.map(({ effect: which, statement, seen, tried, chance, conflict }) => ({
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
});

/** What the pack says of the swap; where it says nothing, what to do then. */
function answerBlocks({ component, pairing, phone }: Swapped, context: Context): DraftBlock[] {
  const { statements } = pairing;
  const withBoard = goWithBoard(context, phone.family);
  if (!statements.length)
    return [
      text(
        say`That does not mean that it is free of pairing: test the function before closing, with the first one at hand.`,
      ),
    ];
  return [
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
  ];
}

/** What stands behind the answer: figures, reports, handling, lessons and the law. */
function behindAnswer(
  { component, law, lessons, shown, chances, reports: own }: Swapped,
  context: Context,
  allLessons: boolean,
): DraftBlock[] {
  const lines = countedLines(chances);
  return [
    ...(lines.length ? [steps(lines, say`Pack and bench together`, false)] : []),
    ...(own.length
      ? [
          steps(
            own
              .slice(0, REPORTS_SHOWN)
              .map(
                (swap) =>
                  say`${dayOf(context, swap.at)}, ${verbatim(swap.by.name)}: ${swapInWords(context, swap)} (report ${swap.number})`,
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
    ...lawBlocks(
      law.laws,
      law.hint,
      context.collective.settings.region,
      allLessons ? 'all' : ['pairing', 'none-found'],
    ),
  ];
}

const furtherChoices = ({ named, component, shown, lessons }: Swapped): DraftChoice[] => [
  ...(shown.length < lessons.length
    ? [
        {
          label: say`All ${lessons.length} worth knowing`,
          invoke: {
            command: 'paired',
            action: '',
            options: { of: named.id, component: component.id, lessons: 'all' },
          },
          open: true,
          aside: true,
        },
      ]
    : []),
  {
    label: say`All components of this family`,
    invoke: { command: 'paired', action: '', options: { of: named.id } },
    open: true,
    aside: true,
  },
];

export function componentReply(
  named: Named,
  phone: Phone,
  component: Component,
  context: Context,
  allLessons: boolean,
): Draft<PairedData> {
  const { knowledge, collective } = context;
  const about = swapped(named, phone, component, context, allLessons);
  const { pairing, law, shown } = about;
  const [first] = pairing.statements;
  return reply({
    title: say`${atStart(packText(component.name))} of ${phone.name}: ${first ? swapWords(first) : noStatement}`,
    tone: pairing.travels || first?.effect === 'lost' ? 'caution' : 'plain',
    cautions: cardsFor(
      knowledge,
      swapHazards(context, phone.family, component.id),
      collective.settings.region,
    ),
    blocks: [...answerBlocks(about, context), ...onBack(...behindAnswer(about, context, allLessons))],
    choices: furtherChoices(about),
    sources: sourcesOf(knowledge, [
      ...pairing.statements.map(({ ground }) => ground),
      ...shown.map(({ ground }) => ground),
      ...law.laws.map(({ ground }) => ground),
    ]),
    data: componentData(about, context),
  });
}
