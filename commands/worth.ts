import { z } from 'zod';
import type { Remedy } from '../knowledge/schema.ts';
import type { BenchEvent } from '../shared/diagnosis/sets/bench-belief.ts';
import type { Economics } from '../shared/economics/economics.ts';
import type { Message } from '../shared/language/message.ts';
import {
  counted,
  inRow,
  joined,
  listWords,
  orList,
  packText,
  plain,
  quantity,
  say,
  typed,
} from '../shared/language/say.ts';
import { amount, bareAmount, fromMajor, moneyWire, toMajor, toWire } from '../shared/money/money.ts';
import { type Appraisal, type DependsOn, dependsOn } from '../shared/worth/appraise.ts';
import { type PriceTurn, type Stance, type Way, type WayResult, ways } from '../shared/worth/verdict.ts';
import { defineSimpleCommand } from './framework/command.ts';
import type { Context } from './framework/context.ts';
import { choiceOption, integerOption, lookupOption, moneyOption, optional } from './framework/option.ts';
import { Refusal } from './framework/refusal.ts';
import {
  type Draft,
  type DraftBlock,
  type DraftCard,
  type DraftChoice,
  facts,
  inputSchema,
  onBack,
  reply,
  right,
  steps,
  table,
  text,
} from './framework/reply.ts';
import { type AppraisedPhone, appraisePhone, jobsBehind } from './shared/appraise-phone.ts';
import {
  type Look,
  lookSchema,
  looksToData,
  seenInWords,
  seenOption,
  stateAfterLooks,
  tableReply,
} from './shared/at-the-table.ts';
import { cardsOfState } from './shared/caution-cards.ts';
import { benchEventsOf, damageOf, mendedIn, traceMeant } from './shared/find-trace.ts';
import { modelsAndFamilies } from './shared/lookups.ts';
import { conditions, gradeOf, type Phone, phoneOf, phoneOfTrace } from './shared/phone.ts';
import { stateOfTrace } from './shared/phone-state.ts';
import { readBack, readData } from './shared/read-back.ts';
import { checkDamage, eventsOfFound, toldEvents } from './shared/said-besides.ts';
import { wayWords } from './shared/way-words.ts';
import { percent } from './shared/words.ts';
import { damageOption, deniedOption, foundOption, idsOf, symptomsOption } from './shared/words-options.ts';

const chance = z.number().min(0).max(1);
export const worthData = z.object({
  /** Null: no price is known, so there is none. */
  verdict: z.enum(ways).nullable(),
  price: moneyWire,
  /** The most worth paying, by the way advised; where that is to pass, by any; null when no price is. */
  highest: moneyWire.nullable(),
  rough: z.boolean(),
  value: z.object({ median: moneyWire, low: moneyWire, high: moneyWire }),
  ways: z.array(
    z.object({
      way: z.enum(ways),
      mean: moneyWire,
      low: moneyWire,
      high: moneyWire,
      loss: chance,
      minutes: z.number(),
      perHour: moneyWire.nullable(),
      /** Expected money besides the price. */
      outlay: moneyWire,
      highest: moneyWire.nullable(),
      /** What stops it above that. */
      limit: z.enum(['margin', 'risk']).nullable(),
      chanceRestored: chance,
      /** The mean of the worst tenth: what one is out, time counted. */
      atRisk: z.object({ total: moneyWire, parts: moneyWire, takings: moneyWire, minutes: z.number() }),
      gates: z.array(
        z.object({
          chance,
          minutesBefore: z.number(),
          cash: moneyWire,
          restored: chance,
          steps: z.array(z.string()),
        }),
      ),
    }),
  ),
  /** The nearest price at which the advice changes. */
  closest: z.object({ price: moneyWire, below: z.enum(ways), above: z.enum(ways) }).nullable(),
  depends: z.array(z.object({ on: z.enum(dependsOn), low: moneyWire, high: moneyWire })),
  nextCheck: z.object({ id: z.string(), gain: moneyWire }).nullable(),
  /** The checks of a minute that move the highest price most, by how much they are expected to. */
  table: z.array(
    z.object({
      check: z.string(),
      minutes: z.number(),
      moves: moneyWire,
      outcomes: z.array(z.object({ id: z.string(), chance })),
    }),
  ),
  /** What was seen before buying, and the highest price before the last of it; null: none. */
  seen: z.array(lookSchema),
  before: moneyWire.nullable(),
  odds: z.array(z.object({ fault: z.string(), chance })),
  inputs: z.array(inputSchema),
});
export type WorthData = z.infer<typeof worthData>;

const toDo: Record<Way, Message> = {
  restore: say`to restore it`,
  'look-first': say`to take it and look first`,
  strip: say`to take it for parts`,
  'sell-as-is': say`to sell it on as it is`,
  'hand-on': say`to hand it to someone qualified first`,
  pass: say`to pass`,
};
const bought: Record<Exclude<Way, 'pass'>, (at: Message) => Message> = {
  restore: (at) => say`buy it at ${at} and restore it`,
  'look-first': (at) => say`buy it at ${at} and look first`,
  strip: (at) => say`buy it for parts at ${at}`,
  'sell-as-is': (at) => say`buy it at ${at} and sell it as it is`,
  'hand-on': (at) => say`buy it at ${at} and hand it to someone qualified first`,
};
const taken: Record<Exclude<Way, 'pass'>, Message> = {
  restore: say`take it and restore it`,
  'look-first': say`take it and look first`,
  strip: say`take it for parts`,
  'sell-as-is': say`take it and sell it as it is`,
  'hand-on': say`take it and hand it to someone qualified first`,
};
/** What the answer hangs on, and what its two ends are. */
const dependsWords: Record<DependsOn, { on: Message; from: Message; to: Message }> = {
  value: { on: say`what it sells for`, from: say`its low end`, to: say`its high end` },
  parts: { on: say`the price of parts`, from: say`half as much again`, to: say`a third less` },
  time: { on: say`bench time`, from: say`half as much again`, to: say`half` },
};

/** So much is told of the points at which money is put in. */
const MOST_GATES = 3;
/** Less than this share of the belief is not named. */
const LEAST_ODDS = 0.05;

interface Question extends AppraisedPhone {
  phone: Phone;
  rough: Message[];
  mendedBy: Remedy | null;
  /** What was seen at the seller's table, and the answer before the last of it. */
  looks: readonly Look[];
  before: Appraisal | null;
  /** The command's options as text, to be said again with more that was seen. */
  again: Readonly<Record<string, string>>;
  kept: boolean;
}
type Show = (sum: number) => Message;

const closestOf = ({ answer }: Appraisal): PriceTurn | null =>
  answer.kind === 'advice' ? answer.closest : null;
const highestOf = ({ answer }: Appraisal): number | null =>
  answer.kind === 'advice' ? answer.highest : null;

function headline({ result, phone }: Question, show: Show): Message {
  const { verdict, price, works, best } = result;
  const highest = highestOf(result);
  if (verdict === null) return say`${phone.name}: no verdict yet, no price is known for it`;
  if (verdict === 'pass') {
    const most =
      highest === null || !best
        ? say`no price is worth paying`
        : say`up to ${show(highest)} it is worth it ${toDo[turnsTo(result)]}`;
    return plain`${phone.name}: ${price > 0 ? say`pass at ${show(price)}` : say`pass, even as a gift`} (${most})`;
  }
  const words = works ? say`it works` : price > 0 ? bought[verdict](show(price)) : taken[verdict];
  return plain`${phone.name}: ${words} (${say`worth up to ${show(highest ?? 0)}`})`;
}

/** Where the advice is to pass: the way whose highest price is told. */
const turnsTo = ({ ways: all, answer }: Appraisal): Way =>
  all.find(({ highest }) => highest !== null && answer.kind === 'advice' && highest === answer.highest)
    ?.way ?? 'pass';

/** Why, in a sentence or two. */
function reason({ result }: Question, context: Context, show: Show): Message {
  const { verdict, best, stance, price } = result;
  if (verdict === null) {
    return say`To judge it, one of these is needed: what it sells for when working (value:), a price seen (/prices add), or its price when new (/family name). The table stands on a guess.`;
  }
  if (!best) return say`There is nothing to be done with it here.`;
  if (verdict !== 'pass') {
    return best.cash > 0 || best.minutes > 0
      ? say`Expected to leave ${show(best.mean)}, after ${show(best.cash)} for parts and ${Math.round(best.minutes)} min.`
      : say`Expected to leave ${show(best.mean)}, with nothing to be done to it.`;
  }
  const way = wayWords[best.way];
  if (best.mean <= 0)
    return best.minutes * stance.rate > 60 * Math.max(0, best.cash + price)
      ? say`Best of the rest is “${way}”, and it is expected to leave ${show(best.mean)}: most of it is ${Math.round(best.minutes)} min of your time.`
      : say`Best of the rest is “${way}”, and it is expected to leave ${show(best.mean)}.`;
  if (best.after <= 0)
    return say`“${way}” is expected to leave ${show(best.mean)}, less than the margin of ${percent(context.collective.settings.margin)} that you want.`;
  return say`“${way}” is expected to leave ${show(best.mean)}, but one time in ten you would be out ${show(best.atRisk.total)}, more than the ${show(stance.bearable)} that you bear on one phone (/setup bear:).`;
}

/** The worst tenth in plain words. */
function risk({ atRisk: { total, net }, loss }: WayResult, show: Show): Message {
  if (total <= 0) return say`Even when it goes badly, one time in ten, ${show(net)} is left.`;
  return joined([
    say`One time in ten you are out ${show(total)}.`,
    say`Chance of any loss: ${percent(loss)}.`,
  ]);
}

/** What the worst tenth is made of. */
function riskParts({ price }: Appraisal, { atRisk }: WayResult, show: Show): DraftBlock[] {
  const { total, parts, takings, minutes } = atRisk;
  if (total <= 0) return [];
  const of = [
    ...(price > 0 ? [say`${show(price)} for the phone`] : []),
    ...(parts >= 0.5 ? [say`${show(parts)} in parts`] : []),
    ...(minutes >= 0.5 ? [say`${Math.round(minutes)} min of work`] : []),
  ];
  const less = takings >= 0.5 ? say`less ${show(takings)} that comes in` : '';
  if (!of.length) return [];
  const words = less ? joined([listWords(of), less], ', ') : listWords(of);
  return onBack(text(say`One time in ten you are out ${show(total)}: ${words}.`));
}

const stepName = ({ knowledge }: Context, id: string): Message =>
  id === 'service'
    ? say`the service`
    : packText((knowledge.remedies.get(id) ?? knowledge.checks.get(id))?.name ?? id);

/** What is learnt before each time money is put in, and what is at stake there. */
function gateLines({ gates }: WayResult, context: Context, show: Show): Message[] {
  return gates
    .slice(0, MOST_GATES)
    .map(({ number, chance: reached, minutesBefore, cash, restored, steps: likely }) => {
      const names = orList(likely.slice(0, 2).map(({ id }) => plain`“${stepName(context, id)}”`));
      const before = Math.round(minutesBefore);
      const works = restored < LEAST_ODDS ? '' : say`It then works in ${percent(restored)}.`;
      return joined([
        number === 1
          ? say`${before} min and no money first. It comes to ${names} in ${percent(reached)}: ${show(cash)}. Else stop there.`
          : say`Then, in ${percent(reached)}, ${names}: ${show(cash)} more.`,
        ...(works ? [works] : []),
      ]);
    });
}

/** A component that is known to be broken, and what the plan would mend it with. */
function damageInWords(component: string, { ways: all }: Appraisal, { knowledge }: Context): Message {
  const name = packText(knowledge.components.get(component)?.name ?? component);
  const spent = all.flatMap(({ gates }) => gates.flatMap((gate) => gate.steps));
  const remedy = spent
    .flatMap(({ id }) => knowledge.remedies.get(id) ?? [])
    .find(({ parts }) => parts.some((part) => part.component === component));
  return remedy ? plain`${name} (${packText(remedy.name)})` : name;
}

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

const dependsInWords = ({ on, low, high }: Appraisal['depends'][number], show: Show): Message => {
  const words = dependsWords[on];
  return say`${words.on}: ${show(low)} (${words.from}) to ${show(high)} (${words.to})`;
};

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

function draw(question: Question, context: Context): Draft<z.infer<typeof worthData>> {
  const { economics, result, found, phone, rough, mendedBy, looks, before } = question;
  const { knowledge, collective } = context;
  const asMoney = (sum: number) => fromMajor(sum, economics.currency);
  const show = (sum: number) => amount(asMoney(sum));
  const wire = (sum: number) => toWire(asMoney(sum));
  const { best, verdict, works, service } = result;
  const market = economics.market;
  const first = result.depends[0];
  const nextCheck = result.nextCheck && knowledge.checks.get(result.nextCheck.id);
  const symptomsOpen = found.open.some(({ kind }) => kind === 'symptom');
  const damaged = found.open.flatMap(({ kind, ref }) => (kind === 'damage' ? [ref] : []));
  const likely = symptomsOpen ? found.belief.odds.slice(0, 3).filter(({ share }) => share >= LEAST_ODDS) : [];
  const value = {
    median: Math.exp(economics.value.location),
    low: market?.low ?? Math.exp(economics.value.location - 1.44 * economics.value.scale),
    high: market?.high ?? Math.exp(economics.value.location + 1.44 * economics.value.scale),
  };
  const grounds = market
    ? market.n
      ? counted(market.n, '{0} sighting, {1} prior', '{0} sightings, {1} prior', percent(market.priorShare))
      : say`from its price when new alone`
    : economics.standIn
      ? say`a stand-in, no price known`
      : say`as you gave it`;
  const closest = closestOf(result);
  const little = result.answer.kind === 'advice' ? result.answer.littleForHours : null;
  const gates =
    best && verdict !== null && (best.way === 'look-first' || best.way === 'hand-on')
      ? gateLines(best, context, show)
      : [];
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
      text(
        joined([
          reason(question, context, show),
          ...(best && verdict !== 'pass' && verdict !== null ? [risk(best, show)] : []),
        ]),
      ),
      ...(best && verdict !== 'pass' && verdict !== null ? riskParts(result, best, show) : []),
      ...onBack(...(gates.length ? [steps(gates, undefined, false)] : [])),
      ...(little
        ? [text(say`It takes ${Math.round(little.minutes)} min for little: ${show(little.perHour)} an hour.`)]
        : []),
      ...(closest &&
      !(closest.below === verdict && closest.above === 'pass' && closest.price === highestOf(result))
        ? onBack(
            text(
              say`Closest call: up to ${show(closest.price)} ${toDo[closest.below]}, above that ${toDo[closest.above]}.`,
            ),
          )
        : []),
      ...(mendedBy && works
        ? [
            text(
              say`It works again (${packText(mendedBy.name)}). Parts and time spent on it so far are not counted.`,
            ),
          ]
        : []),
      ...(question.kept
        ? [
            text(
              say`Kept in use, it is worth what it would sell for: no cost of selling, no tax and no margin come off.`,
            ),
          ]
        : []),
      ...(rough.length ? [text(say`Rough: ${listWords(rough)}.`)] : []),
      ...atTable.blocks,
      ...hour.blocks,
      text(
        say`Before any money: whose is it, is it free of an account lock, is it on a stolen-phone list? /caution data-and-ownership`,
      ),
      ...onBack(wayTable(result.ways, economics), behindIt()),
      ...(nextCheck && result.nextCheck
        ? onBack(
            text(
              say`Before you buy, ${nextCheck.minutes} min: ${packText(nextCheck.name)}. ${packText(nextCheck.ask)} It is worth about ${show(result.nextCheck.gain)}.`,
            ),
          )
        : []),
      ...(collective.settings.marginTax > 0
        ? onBack(
            text(
              say`Tax of ${collective.settings.marginTax} % on the margin is taken off; what applies to you is for your local law.`,
            ),
          )
        : []),
    ],
    choices: [...atTable.choices, ...hour.choices],
    data: worthDataOf(),
  });

  function behindIt(): DraftBlock {
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

  function worthDataOf(): WorthData {
    const { settings } = collective;
    const highest = highestOf(result);
    const beforeHighest = before && highestOf(before);
    return {
      verdict,
      price: wire(result.price),
      highest: highest === null ? null : wire(highest),
      rough: rough.length > 0,
      value: { median: wire(value.median), low: wire(value.low), high: wire(value.high) },
      ways: result.ways.map((way) => ({
        way: way.way,
        mean: wire(way.mean),
        low: wire(way.low),
        high: wire(way.high),
        loss: within(way.loss),
        minutes: way.minutes,
        perHour: way.perHour === null ? null : wire(way.perHour),
        outlay: wire(way.cash),
        highest: way.highest === null ? null : wire(way.highest),
        limit: way.limit,
        chanceRestored: within(way.restored),
        atRisk: {
          total: wire(way.atRisk.total),
          parts: wire(way.atRisk.parts),
          takings: wire(way.atRisk.takings),
          minutes: way.atRisk.minutes,
        },
        gates: way.gates.map((gate) => ({
          chance: within(gate.chance),
          minutesBefore: gate.minutesBefore,
          cash: wire(gate.cash),
          restored: within(gate.restored),
          steps: gate.steps.map(({ id }) => id),
        })),
      })),
      closest: closest && { ...closest, price: wire(closest.price) },
      depends: result.depends.map((one) => ({ ...one, low: wire(one.low), high: wire(one.high) })),
      nextCheck: result.nextCheck && { id: result.nextCheck.id, gain: wire(result.nextCheck.gain) },
      table: result.table.map(({ id, minutes, moves, outcomes }) => ({
        ...{ check: id, minutes, moves: wire(moves) },
        outcomes: outcomes.map((one) => ({ id: one.id, chance: within(one.chance) })),
      })),
      seen: looksToData(looks),
      before: beforeHighest === null ? null : wire(beforeHighest),
      odds: symptomsOpen
        ? found.belief.odds.map(({ fault, share }) => ({ fault: fault.id, chance: within(share) }))
        : [],
      inputs: [
        { name: 'family', value: phone.family.id, ground: 'given' },
        { name: 'price asked', value: wire(result.price).amount, ground: 'given' },
        { name: 'margin wanted', value: settings.margin, ground: 'collective', note: '/setup margin:' },
        {
          name: 'what can be borne on one phone',
          value: wire(result.stance.bearable).amount,
          ground: settings.bearable === null ? 'assumed' : 'collective',
          note: '/setup bear:',
        },
        {
          name: 'tax on margin, percent',
          value: settings.marginTax,
          ground: 'collective',
          note: '/setup margin-tax:',
        },
        ...(service
          ? [
              {
                name: 'fee of a service',
                value: wire(service.amount).amount,
                ground: service.ground,
                note: '/setup service:',
              },
            ]
          : []),
        ...economics.inputs,
        {
          name: 'knowledge pack',
          value: knowledge.version,
          ground: 'practice',
          note: 'pack',
        },
      ],
    };
  }
}

const withoutDoubles = (cards: readonly DraftCard[]): DraftCard[] =>
  cards.filter(({ id }, at) => cards.findIndex((one) => one.id === id) === at);

/** Rounding may leave a chance a hair outside of its range. */
const within = (share: number): number => Math.min(1, Math.max(0, share));

const eventsOf = (looks: readonly Look[]): BenchEvent[] =>
  looks.map(({ check, outcome }) => ({ kind: 'check', id: check.id, outcome: outcome.id }));

export const worth = defineSimpleCommand({
  name: 'worth',
  summary: say`Cost against value: restore it, look first, strip it, sell it on or pass, and the most worth paying`,
  options: {
    model: optional(
      lookupOption({ summary: say`The model, or a family`, example: 'Orrin K3', lookup: modelsAndFamilies }),
    ),
    price: optional(moneyOption({ summary: say`Price asked; nothing if it is a gift`, example: '60' })),
    symptoms: optional(symptomsOption(say`What is wrong with it, in your own words`, 'dead')),
    damage: damageOption,
    denied: deniedOption,
    found: foundOption,
    trace: optional(
      integerOption({ summary: say`Take up the state of this trace`, example: '3', min: 1, max: 1e9 }),
    ),
    condition: optional(
      choiceOption({ summary: say`How it will look when sold`, example: 'good', choices: conditions }),
    ),
    storage: optional(integerOption({ summary: say`Storage in GB`, example: '64', min: 1, max: 8192 })),
    value: optional(
      moneyOption({ summary: say`What it sells for when working, if you know`, example: '180' }),
    ),
    keep: optional(
      choiceOption({
        choices: ['yes'],
        summary: say`You keep it in use once it works, and do not sell it`,
        example: 'yes',
      }),
    ),
    seen: optional(seenOption),
  },
  examples: ['/worth "Orrin K3" price:60 symptoms:dead', '/worth trace:3 price:60'],

  data: z.union([worthData, readData]),
  refuses: ['not-found', 'missing-option', 'wrong-state'],
  run: (options, context, texts) => {
    const trace = options.trace === undefined ? null : traceMeant(context, options.trace);
    const phone = trace ? phoneOfTrace(context, trace) : options.model && phoneOf(context, options.model);
    if (options.symptoms && 'words' in options.symptoms) {
      const goal = { command: 'worth', action: '', options: texts };
      return readBack(context, { text: options.symptoms.words, goal, family: phone?.family ?? null });
    }
    if (!phone) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Which phone is it?`,
        expected: say`a model, a family or a trace`,
        option: 'model',
      });
    }
    const said = { denied: idsOf(options.denied), damage: idsOf(options.damage), found: options.found ?? [] };
    checkDamage(context, phone.family, said.damage);
    const symptoms = options.symptoms?.ids ?? [];
    const told = toldEvents(context, phone.family, said);
    const looks = options.seen ?? [];
    if (trace && looks.length) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`What was seen of a traced phone belongs in its trace.`,
        expected: say`/trace answer, or /worth without trace:`,
        option: 'seen',
      });
    }
    const found = eventsOfFound(context, phone.family, said.found);
    const asked = {
      price: options.price ? toMajor(options.price) : 0,
      grade: gradeOf(options.condition ?? 'fair'),
      ...(options.storage === undefined ? {} : { storageGb: options.storage }),
      ...(options.value === undefined ? {} : { value: toMajor(options.value) }),
      symptoms,
      ...(trace
        ? {
            events: [...benchEventsOf(context, trace), ...told],
            state: stateOfTrace(context, trace, symptoms),
          }
        : { events: told }),
      damage: [...new Set([...(trace ? damageOf(context, trace) : []), ...said.damage])],
      atTable: !trace,
      kept: options.keep === 'yes',
    };
    const after = (seen: readonly Look[]) =>
      appraisePhone(context, phone, {
        ...asked,
        ...(trace
          ? {}
          : { state: stateAfterLooks(context, phone, symptoms, seen, found), looks: eventsOf(seen) }),
      });
    const appraised = after(looks);
    const before = looks.length ? after(looks.slice(0, -1)).result : null;
    const { economics, result } = appraised;
    const rough = [
      ...(result.works && !trace
        ? [say`nothing was said to be wrong, so it is counted as working (symptoms:, damage:)`]
        : []),
      ...(economics.standIn ? [say`no price is known for it (/prices add, or value:)`] : []),
      ...(economics.market?.rough ? [say`few sightings, or far apart`] : []),
      ...(phone.model ? [] : [say`no model is named, only how it is built`]),
    ];
    const mendedBy = trace ? mendedIn(trace, context) : null;
    const { seen: _, ...again } = texts;
    return draw({ ...appraised, phone, rough, mendedBy, looks, before, again, kept: asked.kept }, context);
  },
});
