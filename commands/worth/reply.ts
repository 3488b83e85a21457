import type { Economics } from '../../shared/economics/economics.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  counted,
  inRow,
  joined,
  listWords,
  packText,
  plain,
  quantity,
  say,
  typed,
} from '../../shared/language/say.ts';
import { amount, bareAmount, fromMajor, toMajor } from '../../shared/money/money.ts';
import type { Appraisal } from '../../shared/worth/appraise.ts';
import type { Stance, WayResult } from '../../shared/worth/verdict.ts';
import type { Context } from '../framework/context.ts';
import {
  type Draft,
  type DraftBlock,
  type DraftChoice,
  facts,
  onBack,
  reply,
  right,
  steps,
  table,
  text,
} from '../framework/reply.ts';
import { jobsBehind } from '../shared/appraise-phone.ts';
import { seenInWords, tableReply } from '../shared/at-the-table.ts';
import { cardsOfState, withoutDoubles } from '../shared/caution-cards.ts';
import { wayWords } from '../shared/way-words.ts';
import { percent } from '../shared/words.ts';

import { type WorthData, worthDataOf } from './worth-data.ts';
import { closestOf, highestOf, oddsOf, valueRange, type WorthQuestion } from './worth-question.ts';
import {
  damageInWords,
  dependsInWords,
  gateLines,
  headline,
  LEAST_ODDS,
  reason,
  risk,
  riskParts,
  type Show,
  toDo,
} from './worth-words.ts';

/** The ways side by side; amounts in the currency that the heading names. */
function wayTable(all: readonly WayResult[], economics: Economics): DraftBlock {
  const bare = (sum: number) => bareAmount(fromMajor(sum, economics.currency));
  const row = (label: Message, cell: (way: WayResult) => Message, pass = typed('–')) => [
    label,
    ...all.map((way) => (way.way === 'pass' ? pass : cell(way))),
  ];
  return table(
    [typed(economics.currency), ...all.map(({ way }) => right(wayWords[way]))],
    [
      row(say`Expected to leave`, ({ mean }) => bare(mean), bare(0)),
      row(say`8 times in 10`, ({ low, high }) => say`${bare(low)} to ${bare(high)}`),
      row(say`Chance of a loss`, ({ loss }) => percent(loss)),
      row(say`Worst tenth`, ({ atRisk }) => bare(atRisk.net)),
      row(say`Bench time`, ({ minutes }) => quantity(Math.round(minutes), 'min')),
      row(say`Most to pay`, ({ highest }) => (highest === null ? say`nothing` : bare(highest))),
    ],
  );
}

/** What an hour is worth, where nobody has said: asked, and never in the way. */
function askHour(
  { collective, person }: Context,
  stance: Stance,
): { blocks: DraftBlock[]; choices: DraftChoice[] } {
  const { currency, hourlyRate } = collective.settings;
  if (hourlyRate !== null) return { blocks: [], choices: [] };
  const show = (sum: number) => amount(fromMajor(sum, currency));
  const asked = say`What is an hour at the bench worth to you? 0 is a fine answer. Until somebody says, ${show(stance.hour)} is counted.`;
  if (person.role !== 'steward') {
    return { blocks: [text(joined([asked, say`A steward says it with /setup rate:`]))], choices: [] };
  }
  const choice = (rate: number, label: Message): DraftChoice => ({
    label,
    invoke: {
      command: 'setup',
      action: 'change',
      options: { rate: String(toMajor(fromMajor(rate, currency))) },
    },
  });
  return {
    blocks: [text(asked)],
    choices: [
      choice(0, say`0: we give our time`),
      choice(stance.hour / 2, say`${show(stance.hour / 2)} an hour`),
      choice(stance.hour, say`${show(stance.hour)} an hour`),
    ],
  };
}

/** Where the value when working comes from. */
function valueGround({ market, standIn }: Economics): Message {
  if (!market) return standIn ? say`a stand-in, no price known` : say`as you gave it`;
  return market.n
    ? counted(market.n, '{0} sighting, {1} prior', '{0} sightings, {1} prior', percent(market.priorShare))
    : say`from its price when new alone`;
}

function behindIt(question: WorthQuestion, context: Context, show: Show): DraftBlock {
  const { economics, result, found, phone } = question;
  const { best, works, service } = result;
  const first = result.depends[0];
  const damaged = found.open.flatMap(({ kind, ref }) => (kind === 'damage' ? [ref] : []));
  const likely = oddsOf(question)
    .slice(0, 3)
    .filter(({ share }) => share >= LEAST_ODDS);
  const value = valueRange(economics);
  const grounds = valueGround(economics);
  return facts(
    [
      [
        say`Sells for, working`,
        say`${show(value.median)} (${show(value.low)} to ${show(value.high)}; ${grounds})`,
      ],
      ...(best && !works ? [[say`All of it mended`, percent(best.restored)] as const] : []),
      ...(likely.length
        ? [
            [
              say`Most likely`,
              plain`${inRow(likely.map(({ fault, share }) => joined([packText(fault.name), percent(share)])))} (${jobsBehind(context, phone.family)})`,
            ] as const,
          ]
        : []),
      ...(damaged.length
        ? [[say`Known damage`, inRow(damaged.map((id) => damageInWords(id, result, context)))] as const]
        : []),
      ...(service
        ? [
            [
              say`Service’s fee`,
              service.ground === 'assumed'
                ? say`${show(service.amount)}, assumed: an hour and the cell (/setup service:)`
                : show(service.amount),
            ] as const,
          ]
        : []),
      ...(best?.perHour != null
        ? [[say`A bench hour earns`, say`${show(best.perHour)} before the time is paid`] as const]
        : []),
      ...(first ? [[say`Depends most on`, dependsInWords(first, show)] as const] : []),
    ],
    say`Behind it`,
  );
}

/** Where the advice changes with the price; not where that is what the title says already. */
function closestCall({ result }: WorthQuestion, show: Show): DraftBlock[] {
  const closest = closestOf(result);
  if (!closest) return [];
  if (closest.below === result.verdict && closest.above === 'pass' && closest.price === highestOf(result))
    return [];
  return onBack(
    text(
      say`Closest call: up to ${show(closest.price)} ${toDo[closest.below]}, above that ${toDo[closest.above]}.`,
    ),
  );
}

/** Why, what is at risk, and what is learnt before money is put in. */
function adviceBlocks(question: WorthQuestion, context: Context, show: Show): DraftBlock[] {
  const { result } = question;
  const { best, verdict } = result;
  const bought = best && verdict !== 'pass' && verdict !== null ? best : null;
  const gates =
    best && verdict !== null && (best.way === 'look-first' || best.way === 'hand-on')
      ? gateLines(best, context, show)
      : [];
  const little = result.answer.kind === 'advice' ? result.answer.littleForHours : null;
  return [
    text(joined([reason(question, context, show), ...(bought ? [risk(bought, show)] : [])])),
    ...(bought ? riskParts(result, bought, show) : []),
    ...onBack(...(gates.length ? [steps(gates, undefined, false)] : [])),
    ...(little
      ? [text(say`It takes ${Math.round(little.minutes)} min for little: ${show(little.perHour)} an hour.`)]
      : []),
    ...closestCall(question, show),
  ];
}

/** What the verdict takes for granted. */
function assumptionBlocks({ result, mendedBy, kept, rough }: WorthQuestion): DraftBlock[] {
  return [
    ...(mendedBy && result.works
      ? [
          text(
            say`It works again (${packText(mendedBy.name)}). Parts and time spent on it so far are not counted.`,
          ),
        ]
      : []),
    ...(kept
      ? [
          text(
            say`Kept in use, it is worth what it would sell for: no cost of selling, no tax and no margin come off.`,
          ),
        ]
      : []),
    ...(rough.length ? [text(say`Rough: ${listWords(rough)}.`)] : []),
  ];
}

function nextCheckBlocks({ result }: WorthQuestion, { knowledge }: Context, show: Show): DraftBlock[] {
  const check = result.nextCheck && knowledge.checks.get(result.nextCheck.id);
  if (!check || !result.nextCheck) return [];
  return onBack(
    text(
      say`Before you buy, ${check.minutes} min: ${packText(check.name)}. ${packText(check.ask)} It is worth about ${show(result.nextCheck.gain)}.`,
    ),
  );
}

export function worthReply(question: WorthQuestion, context: Context): Draft<WorthData> {
  const { economics, result, found, looks, before } = question;
  const { verdict } = result;
  const { marginTax } = context.collective.settings;
  const show: Show = (sum) => amount(fromMajor(sum, economics.currency));
  const hour = askHour(context, result.stance);
  const atTable = tableReply(context, result.table, looks, question.again, show);
  const most = (of: Appraisal): Message => {
    const highest = highestOf(of);
    return highest === null ? say`nothing` : show(highest);
  };
  return reply({
    title: headline(question, show),
    tone: verdict === 'pass' || verdict === null ? 'caution' : 'good',
    cautions: withoutDoubles([...cardsOfState(context, found.state), ...atTable.cautions]),
    blocks: [
      ...(before ? [text(seenInWords(looks, most(before), most(result)))] : []),
      ...adviceBlocks(question, context, show),
      ...assumptionBlocks(question),
      ...atTable.blocks,
      ...hour.blocks,
      text(
        say`Before any money: whose is it, is it free of an account lock, is it on a stolen-phone list? /caution data-and-ownership`,
      ),
      ...onBack(wayTable(result.ways, economics), behindIt(question, context, show)),
      ...nextCheckBlocks(question, context, show),
      ...(marginTax > 0
        ? onBack(
            text(
              say`Tax of ${marginTax} % on the margin is taken off; what applies to you is for your local law.`,
            ),
          )
        : []),
    ],
    choices: [...atTable.choices, ...hour.choices],
    data: worthDataOf(question, context),
  });
}
