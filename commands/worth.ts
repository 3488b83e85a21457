import { z } from 'zod';
import { sourceNote } from '../knowledge/grounds.ts';
import type { Remedy } from '../knowledge/schema.ts';
import type { DecisionProblem } from '../shared/diagnosis/decision-problem.ts';
import type { Economics } from '../shared/economics/economics.ts';
import type { Message } from '../shared/language/messages.ts';
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
  verbatim,
} from '../shared/language/say.ts';
import { amount, bareAmount, fromMajor, moneyWire, toMajor, toWire } from '../shared/money/money.ts';
import {
  type Appraisal,
  type DependsOn,
  dependsOn,
  type Way,
  type WayOut,
} from '../shared/worth/appraise.ts';
import { defineSimpleCommand } from './framework/command.ts';
import type { Context } from './framework/context.ts';
import {
  choiceOption,
  integerOption,
  lookupOption,
  manyOption,
  moneyOption,
  optional,
} from './framework/option.ts';
import { Refusal } from './framework/refusal.ts';
import {
  type Draft,
  type DraftBlock,
  facts,
  inputSchema,
  reply,
  right,
  steps,
  table,
  text,
} from './framework/reply.ts';
import { appraisePhone, jobsBehind } from './shared/appraise-phone.ts';
import { cardsOfState } from './shared/caution-cards.ts';
import { evidenceOf, mendedIn, traceMeant } from './shared/find-trace.ts';
import { components, modelsAndFamilies, symptoms as symptomLookup } from './shared/lookups.ts';
import { conditions, gradeOf, type Phone, phoneOf, phoneOfTrace } from './shared/phone.ts';
import { stateOfTrace } from './shared/phone-state.ts';
import { percent } from './shared/words.ts';

const chance = z.number().min(0).max(1);
export const worthData = z.object({
  verdict: z.enum(['restore', 'strip', 'pass']),
  price: moneyWire,
  /** The most worth paying; null when no price is. */
  highest: moneyWire.nullable(),
  rough: z.boolean(),
  value: z.object({ median: moneyWire, low: moneyWire, high: moneyWire }),
  ways: z.array(
    z.object({
      way: z.enum(['restore', 'strip', 'pass']),
      mean: moneyWire,
      low: moneyWire,
      high: moneyWire,
      loss: chance,
      minutes: z.number(),
      perHour: moneyWire.nullable(),
      outlay: moneyWire,
      highest: moneyWire.nullable(),
      chanceRestored: chance,
    }),
  ),
  depends: z.array(
    z.object({
      on: z.enum(dependsOn),
      low: moneyWire,
      high: moneyWire,
      /** The faults at its two ends, where it depends on which one it is. */
      from: z.string().nullable(),
      to: z.string().nullable(),
    }),
  ),
  nextCheck: z.object({ id: z.string(), gain: moneyWire }).nullable(),
  odds: z.array(z.object({ fault: z.string(), chance })),
  inputs: z.array(inputSchema),
});
export type WorthData = z.infer<typeof worthData>;

const wayWords: Record<Way, Message> = { restore: say`Restore`, strip: say`Strip`, pass: say`Pass` };
/** What the answer hangs on, and what its two ends are. */
const dependsWords: Record<Exclude<DependsOn, 'fault'>, { on: Message; from: Message; to: Message }> = {
  value: { on: say`what it sells for`, from: say`its low end`, to: say`its high end` },
  parts: { on: say`the price of parts`, from: say`half as much again`, to: say`a third less` },
  time: { on: say`bench time`, from: say`half as much again`, to: say`half` },
};

interface Question {
  phone: Phone;
  economics: Economics;
  bench: DecisionProblem;
  result: Appraisal;
  rough: Message[];
  faulty: boolean;
  mendedBy: Remedy | null;
}

function headline({ result, phone, mendedBy }: Question, show: (sum: number) => Message): Message {
  const { verdict, price, highest } = result;
  const most = highest === null ? say`no price is worth paying` : say`worth up to ${show(highest)}`;
  const at = show(price);
  const words = {
    restore: mendedBy ? say`it works` : price > 0 ? say`restore it at ${at}` : say`take it and restore it`,
    strip: price > 0 ? say`buy it for parts at ${at}` : say`take it for parts`,
    pass: price > 0 ? say`pass at ${at}` : say`pass, even as a gift`,
  } as const;
  return plain`${phone.name}: ${words[verdict]} (${most})`;
}

function reason({ result }: Question, context: Context, show: (sum: number) => Message): Message {
  const { margin, risk } = context.collective.settings;
  const restore = result.ways.find(({ way }) => way === 'restore');
  const chosen = result.ways.find(({ way }) => way === result.verdict);
  if (result.verdict !== 'pass' && chosen) {
    const rather =
      result.verdict !== 'restore' && restore && restore.mean > chosen.mean
        ? restore.loss > risk
          ? say`Restoring it is expected to leave more, ${show(restore.mean)}, but its chance of a loss is ${percent(restore.loss)}.`
          : say`Restoring it is expected to leave more, ${show(restore.mean)}, but under the margin you want.`
        : '';
    return joined([
      say`Expected to leave ${show(chosen.mean)} after ${show(chosen.outlay)} of outlay and bench time. Chance of a loss: ${percent(chosen.loss)} (your limit is ${percent(risk)}).`,
      rather,
    ]);
  }
  if (!restore) return say`Nothing is expected to pay at this price.`;
  const failings = [
    ...(restore.mean <= 0 ? [say`restoring it is expected to leave ${show(restore.mean)}`] : []),
    ...(restore.mean > 0 && restore.loss <= risk
      ? [say`the expected ${show(restore.mean)} is under the ${percent(margin)} margin you want`]
      : []),
    ...(restore.loss > risk
      ? [say`the chance of a loss is ${percent(restore.loss)}, over your limit of ${percent(risk)}`]
      : []),
  ];
  return say`At this price ${listWords(failings)}.`;
}

/** The ways side by side; amounts in the currency that the heading names. */
function wayTable(ways: readonly WayOut[], economics: Economics): DraftBlock {
  const bare = (sum: number) => bareAmount(fromMajor(sum, economics.currency));
  const row = (label: Message, cell: (way: WayOut) => Message, pass = typed('–')) => [
    label,
    ...ways.map((way) => (way.way === 'pass' ? pass : cell(way))),
  ];
  return table(
    [typed(economics.currency), ...ways.map(({ way }) => right(wayWords[way]))],
    [
      row(say`Expected to leave`, ({ mean }) => bare(mean), bare(0)),
      row(say`8 times in 10`, ({ low, high }) => say`${bare(low)} to ${bare(high)}`),
      row(say`Chance of a loss`, ({ loss }) => percent(loss)),
      row(say`Bench time`, ({ minutes }) => quantity(Math.round(minutes), 'min')),
      row(say`Most to pay`, ({ highest }) => (highest === null ? say`nothing` : bare(highest))),
    ],
  );
}

function dependsInWords(
  { on, low, high, from, to }: Appraisal['depends'][number],
  { knowledge }: Context,
  show: (sum: number) => Message,
): Message {
  const fault = (id: string | null) => packText(knowledge.faults.get(id ?? '')?.name ?? id ?? '');
  const words =
    on === 'fault' ? { on: say`which fault it is`, from: fault(from), to: fault(to) } : dependsWords[on];
  return say`${words.on}: ${show(low)} (${words.from}) to ${show(high)} (${words.to})`;
}

function draw(question: Question, context: Context): Draft {
  const { economics, result, bench, phone, rough, faulty, mendedBy } = question;
  const { knowledge, collective } = context;
  const asMoney = (sum: number) => fromMajor(sum, economics.currency);
  const show = (sum: number) => amount(asMoney(sum));
  const wire = (sum: number) => toWire(asMoney(sum));
  const restore = result.ways.find(({ way }) => way === 'restore');
  const market = economics.market;
  const first = result.depends[0];
  const nextCheck = result.nextCheck && knowledge.checks.get(result.nextCheck.id);
  const likely = bench.odds.slice(0, 3).filter(({ share }) => share >= 0.05);
  const value = {
    median: Math.exp(economics.value.location),
    low: market?.low ?? Math.exp(economics.value.location - 1.44 * economics.value.scale),
    high: market?.high ?? Math.exp(economics.value.location + 1.44 * economics.value.scale),
  };
  const perHour = restore?.perHour;
  const grounds = market
    ? market.n
      ? counted(market.n, '{0} sighting, {1} prior', '{0} sightings, {1} prior', percent(market.priorShare))
      : say`from its price when new alone`
    : economics.standIn
      ? say`a stand-in, no price known`
      : say`as you gave it`;
  return reply({
    title: headline(question, show),
    tone: result.verdict === 'pass' ? 'caution' : 'good',
    cautions: [...cardsOfState(context, bench.state)],
    blocks: [
      text(reason(question, context, show)),
      ...(mendedBy
        ? [
            text(
              say`It works again (${packText(mendedBy.name)}). Parts and time spent on it so far are not counted.`,
            ),
          ]
        : []),
      ...(rough.length ? [text(say`Rough: ${listWords(rough)}.`)] : []),
      wayTable(result.ways, economics),
      facts(
        [
          [
            say`Sells for, working`,
            say`${show(value.median)} (${show(value.low)} to ${show(value.high)}; ${grounds})`,
          ],
          ...(faulty ? [[say`Chance to restore it`, percent(restore?.chanceRestored ?? 0)] as const] : []),
          ...(faulty && likely.length
            ? [
                [
                  say`Most likely`,
                  plain`${inRow(likely.map(({ fault, share }) => joined([packText(fault.name), percent(share)])))} (${jobsBehind(context, phone.family)})`,
                ] as const,
              ]
            : []),
          ...(result.known.remedies.length
            ? [
                [
                  say`Known damage`,
                  say`${inRow(result.known.remedies.map(({ name }) => packText(name)))}: ${show(result.known.parts)} and ${result.known.minutes} min`,
                ] as const,
              ]
            : []),
          ...(perHour !== null && perHour !== undefined
            ? [[say`A bench hour earns`, say`${show(perHour)} before the time is paid`] as const]
            : []),
          ...(first ? [[say`Depends most on`, dependsInWords(first, context, show)] as const] : []),
        ],
        say`Behind it`,
      ),
      ...(nextCheck && result.nextCheck
        ? [
            text(
              say`Before you buy: ${packText(nextCheck.name)}. ${packText(nextCheck.ask)} It is worth about ${show(result.nextCheck.gain)}.`,
            ),
          ]
        : faulty && result.verdict !== 'pass'
          ? [text(say`No check at the seller’s table is expected to change this.`)]
          : []),
      steps(
        [
          say`Before any money: whose is it, is it free of an account lock, is it on a stolen-phone list? /caution data-and-ownership`,
          ...(collective.settings.marginTax > 0
            ? [
                say`Tax of ${collective.settings.marginTax} % on the margin is taken off; what applies to you is for your local law.`,
              ]
            : []),
        ],
        undefined,
        false,
      ),
    ],
    data: worthDataOf(),
  });

  function worthDataOf(): WorthData {
    return {
      verdict: result.verdict,
      price: wire(result.price),
      highest: result.highest === null ? null : wire(result.highest),
      rough: rough.length > 0,
      value: { median: wire(value.median), low: wire(value.low), high: wire(value.high) },
      ways: result.ways.map((way) => ({
        ...way,
        mean: wire(way.mean),
        low: wire(way.low),
        high: wire(way.high),
        outlay: wire(way.outlay),
        perHour: way.perHour === null ? null : wire(way.perHour),
        highest: way.highest === null ? null : wire(way.highest),
      })),
      depends: result.depends.map((one) => ({ ...one, low: wire(one.low), high: wire(one.high) })),
      nextCheck: result.nextCheck && { id: result.nextCheck.id, gain: wire(result.nextCheck.gain) },
      odds: faulty ? bench.odds.map(({ fault, share }) => ({ fault: fault.id, chance: share })) : [],
      inputs: [
        { name: 'family', value: phone.family.id, ground: 'given' },
        { name: 'price asked', value: wire(result.price).amount, ground: 'given' },
        {
          name: 'margin wanted',
          value: collective.settings.margin,
          ground: 'collective',
          note: '/setup margin:',
        },
        { name: 'risk limit', value: collective.settings.risk, ground: 'collective', note: '/setup risk:' },
        {
          name: 'tax on margin, percent',
          value: collective.settings.marginTax,
          ground: 'collective',
          note: '/setup margin-tax:',
        },
        ...economics.inputs,
        ...result.known.remedies.map((remedy) => ({
          name: `known work: ${remedy.id}`,
          value: remedy.minutes,
          ground: typeof remedy.ground === 'string' ? remedy.ground : ('published' as const),
          note: sourceNote(knowledge, remedy.ground),
        })),
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

export const worth = defineSimpleCommand({
  name: 'worth',
  summary: say`Cost against value: restore, strip or pass, and the most worth paying`,
  options: {
    model: optional(
      lookupOption({ summary: say`The model, or a family`, example: 'Orrin K3', lookup: modelsAndFamilies }),
    ),
    price: optional(moneyOption({ summary: say`Price asked; nothing if it is a gift`, example: '60' })),
    symptoms: optional(
      manyOption(
        lookupOption({
          summary: say`What is seen, separated by commas`,
          example: 'dead',
          lookup: symptomLookup,
        }),
      ),
    ),
    damage: optional(
      manyOption(
        lookupOption({
          summary: say`Components known to be broken, besides`,
          example: 'front glass',
          lookup: components,
        }),
      ),
    ),
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
  },
  examples: ['/worth "Orrin K3" price:60 symptoms:dead', '/worth trace:3 price:60'],
  run: (options, context) => {
    const trace = options.trace === undefined ? null : traceMeant(context, options.trace);
    const phone = trace ? phoneOfTrace(context, trace) : options.model && phoneOf(context, options.model);
    if (!phone) {
      throw new Refusal({
        problem: say`Which phone is it?`,
        expected: say`a model, a family or a trace`,
        option: 'model',
      });
    }
    for (const { id, name } of options.damage ?? []) {
      if (id in phone.family.components) continue;
      throw new Refusal({
        problem: say`A ${packText(phone.family.name)} has no ${verbatim(name)}.`,
        expected: say`a component of its family`,
        option: 'damage',
      });
    }
    const symptoms = [
      ...new Set([...(trace?.symptoms ?? []), ...(options.symptoms ?? []).map(({ id }) => id)]),
    ];
    const mendedBy = trace ? mendedIn(trace, context) : null;
    const { economics, bench, result, faulty } = appraisePhone(context, phone, {
      price: options.price ? toMajor(options.price) : 0,
      grade: gradeOf(options.condition ?? 'fair'),
      ...(options.storage === undefined ? {} : { storageGb: options.storage }),
      ...(options.value === undefined ? {} : { value: toMajor(options.value) }),
      symptoms,
      evidence: trace ? evidenceOf(trace) : [],
      ...(trace ? { state: stateOfTrace(context, trace, symptoms) } : {}),
      ...(options.damage ? { damage: options.damage.map(({ id }) => id) } : {}),
      mendedBy,
    });
    const rough = [
      ...(faulty && symptoms.length === 0 ? [say`no symptoms are known, so every fault is weighed`] : []),
      ...(economics.standIn ? [say`no price is known for it (/prices add, or value:)`] : []),
      ...(economics.market?.rough ? [say`few sightings, or far apart`] : []),
      ...(phone.model ? [] : [say`no model is named, only how it is built`]),
    ];
    return draw({ phone, economics, bench, result, rough, faulty, mendedBy }, context);
  },
});
