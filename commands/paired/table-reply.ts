import { pairingEffects } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, inRow, say, verbatim } from '../../shared/language/say.ts';
import { effectWords, noStatement, type PairingOf, pairingTable } from '../../shared/pairing/pairing.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { type Draft, type DraftBlock, facts, onBack, reply, table, text } from '../framework/reply.ts';
import type { Phone } from '../shared/phone.ts';
import { componentName, sourcesOf } from '../shared/words.ts';
import { goWithBoard } from './go-with-board.ts';
import { lawBlocks, lawDataOf, lawNotes } from './law-blocks.ts';
import { type PairedData, statementsData } from './paired-data.ts';

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

/** Where what is said of a component comes from, in a word. */
function groundMark({ knowledge }: Context, { statements }: PairingOf): Message {
  const [first] = statements;
  if (!first) return say`none`;
  if (first.ground === 'practice') return say`practice`;
  if (first.ground === 'memory') return say`memory`;
  return verbatim(knowledge.sources.get(first.ground.source)?.publisher ?? first.ground.source);
}

/** Each component with its ground. */
function wholeTable(context: Context, rows: readonly PairingOf[]): DraftBlock[] {
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
        groundMark(context, row),
      ]),
    ),
    text(
      say`Each row shows the likeliest effect. practice: common practice, no source. "no statement found": ${noStatement} Such a component may be paired all the same.`,
    ),
  ];
}

export function pairingTableReply(of: Named, phone: Phone, context: Context): Draft<PairedData> {
  const { family, name } = phone;
  const { knowledge, collective } = context;
  const { region } = collective.settings;
  const { laws, hint } = lawNotes(context, null);
  const rows = pairingTable(knowledge, family);
  const travel = goWithBoard(context, family);
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
      ...onBack(...wholeTable(context, rows), ...lawBlocks(laws, hint, region, [])),
      text(say`One component, with what mends it: /paired "${name}" component:battery`),
    ],
    sources: sourcesOf(knowledge, [
      ...rows.flatMap(({ statements }) => statements.map(({ ground }) => ground)),
      ...laws.map(({ ground }) => ground),
    ]),
    data,
  });
}
