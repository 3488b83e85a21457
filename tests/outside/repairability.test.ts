import fc from 'fast-check';
import { expect } from 'vitest';
import { familyShowData } from '../../commands/family/show.ts';
import {
  classOf,
  depthPoints,
  type Fasteners,
  type Information,
  type PartFacts,
  type PriorityPart,
  priorityParts,
  type RepairabilityFacts,
  repairabilityIndex,
  type Spares,
  type Tools,
} from '../../shared/repairability/repairability-index.ts';
import { testBot, wordsOf } from '../test-bot.ts';
import { outside } from './check.ts';

const where = 'shared/repairability/repairability-index.ts';
const source = 'eu-2023-1669';
const best: PartFacts = { steps: 1, fasteners: 'reusable', tools: 'none', pairingActions: 0 };
const worst: PartFacts = { steps: 20, fasteners: 'removable', tools: 'on-sale', pairingActions: 0 };
/** A phone whose parts are all alike but for those given; best supply unless given. */
const phone = (
  part: PartFacts,
  but: Partial<Record<PriorityPart, readonly PartFacts[]>> = {},
  supply: Partial<RepairabilityFacts> = {},
): RepairabilityFacts => ({
  parts: { ...Object.fromEntries(priorityParts.map((id) => [id, [part]])), ...but },
  spares: 'all',
  updates: 7,
  information: 'public',
  ...supply,
});
const index = (facts: RepairabilityFacts, folds = false) => repairabilityIndex(facts, folds).index;

for (const [id, score, weight, lowered] of [
  ['index-01', 'disassembly depth', 0.25, phone({ ...best, steps: 20 })],
  ['index-02', 'fasteners', 0.15, phone({ ...best, fasteners: 'removable' })],
  ['index-03', 'tools', 0.15, phone({ ...best, tools: 'on-sale' })],
  ['index-04', 'spare parts', 0.15, phone(best, {}, { spares: 'display' })],
  ['index-05', 'software updates', 0.15, phone(best, {}, { updates: 5 })],
  ['index-06', 'repair information', 0.15, phone(best, {}, { information: 'fee' })],
] as const) {
  outside({ id, what: `Weight of ${score}`, value: String(weight), source, at: 'Annex IV 5', where }, () => {
    // From 5 to 1 in this score alone takes four times its weight off the index.
    expect(index(phone(best))).toBeCloseTo(5, 12);
    for (const folds of [false, true]) expect(index(lowered, folds)).toBeCloseTo(5 - 4 * weight, 12);
  });
}

outside(
  {
    id: 'index-07',
    what: 'The weights of the six scores',
    value: 'add up to 1: from 1 to 5',
    source,
    at: 'Annex IV 5',
    where,
  },
  () => {
    const least = phone(worst, {}, { spares: 'display', updates: 5, information: 'fee' });
    for (const folds of [false, true]) {
      expect(index(least, folds)).toBeCloseTo(1, 12);
      expect(repairabilityIndex(least, folds).class).toBe('E');
      expect(repairabilityIndex(phone(best), folds)).toMatchObject({ class: 'A' });
    }
  },
);

/** Weights of the parts: rigid, folding. */
const weights: readonly (readonly [PriorityPart, number, number])[] = [
  ['battery', 0.3, 0.25],
  ['display-assembly', 0.3, 0.25],
  ['back-cover', 0.1, 0.09],
  ['front-camera', 0.05, 0.04],
  ['rear-camera', 0.05, 0.04],
  ['charging-port', 0.05, 0.04],
  ['mechanical-button', 0.05, 0.04],
  ['main-microphone', 0.05, 0.04],
  ['speaker', 0.05, 0.04],
  ['folding', 0, 0.17],
];
weights.forEach(([part, rigid, folding], at) => {
  outside(
    {
      id: `index-${String(8 + at).padStart(2, '0')}`,
      what: `Weight of the ${part === 'folding' ? 'hinge or folding mechanism' : part.replace('-', ' ')}: rigid, folding phone`,
      value: `${rigid || 'none'}, ${folding}`,
      source,
      at: 'Annex IV 5',
      where,
    },
    () => {
      // This part at the lowest in depth, fasteners and tools, all others at the highest.
      const facts = phone(best, { [part]: [worst] });
      for (const [folds, weight] of [
        [false, rigid],
        [true, folding],
      ] as const)
        expect(index(facts, folds)).toBeCloseTo(5 - 4 * weight * (0.25 + 0.15 + 0.15), 12);
    },
  );
});

outside(
  {
    id: 'index-18',
    what: 'Weights of the parts',
    value: 'add up to 1 for both shapes',
    source,
    at: 'Annex IV 5',
    known: 'computed',
    where,
  },
  () => {
    expect(weights.reduce((sum, [, rigid]) => sum + rigid, 0)).toBeCloseTo(1, 12);
    expect(weights.reduce((sum, [, , folding]) => sum + folding, 0)).toBeCloseTo(1, 12);
    for (const folds of [false, true])
      expect(repairabilityIndex(phone(worst), folds).scores).toMatchObject({
        depth: 1,
        fasteners: 1,
        tools: 1,
      });
  },
);

for (const [id, range, points, steps] of [
  ['index-19', 'up to 2', 5, [1, 2]],
  ['index-20', '3 to 5', 4, [3, 5]],
  ['index-21', '6 to 10', 3, [6, 10]],
  ['index-22', '11 to 15', 2, [11, 15]],
  ['index-23', 'more than 15', 1, [16, 60]],
] as const) {
  outside(
    { id, what: `Points for ${range} steps`, value: String(points), source, at: 'Annex IV 5', where },
    () => {
      for (const count of steps) expect(depthPoints(count)).toBe(points);
    },
  );
}

for (const [id, fasteners, points] of [
  ['index-24', 'reusable', 5],
  ['index-25', 'resupplied', 3],
  ['index-26', 'removable', 1],
] as const satisfies readonly (readonly [string, Fasteners, number])[]) {
  outside(
    {
      id,
      what: `Points for ${fasteners} fasteners`,
      value: String(points),
      source,
      at: 'Annex IV 5 and IVa',
      where,
    },
    () => {
      expect(repairabilityIndex(phone({ ...best, fasteners }), false).scores.fasteners).toBeCloseTo(
        points,
        12,
      );
    },
  );
}

for (const [id, tools, points, words] of [
  ['index-27', 'none', 5, 'no tool'],
  ['index-28', 'basic', 4, 'basic tools'],
  ['index-29', 'with-part', 3, 'tools that come free with the spare part'],
  ['index-30', 'with-product', 2, 'tools that come with the phone'],
  ['index-31', 'on-sale', 1, 'tools on sale'],
] as const satisfies readonly (readonly [string, Tools, number, string])[]) {
  outside(
    { id, what: `Points for ${words}`, value: String(points), source, at: 'Annex IV 5 and IVa', where },
    () => {
      expect(repairabilityIndex(phone({ ...best, tools }), false).scores.tools).toBeCloseTo(points, 12);
    },
  );
}

for (const [id, spares, points, words] of [
  ['index-32', 'all', 5, 'all priority parts'],
  ['index-33', 'display-battery-back-cameras', 4, 'display, battery, back cover and cameras'],
  ['index-34', 'display-battery-back', 3, 'display, battery and back cover'],
  ['index-35', 'display-battery', 2, 'display and battery'],
  ['index-36', 'display', 1, 'the display only'],
] as const satisfies readonly (readonly [string, Spares, number, string])[]) {
  outside(
    {
      id,
      what: `Points for spare parts to end-users: ${words}`,
      value: String(points),
      source,
      at: 'Annex IV 5',
      where,
    },
    () => {
      expect(repairabilityIndex(phone(best, {}, { spares }), false).scores.spares).toBe(points);
    },
  );
}

for (const [id, years, points] of [
  ['index-37', 7, 5],
  ['index-38', 6, 3],
  ['index-39', 5, 1],
] as const) {
  outside(
    {
      id,
      what: `Points for ${years} years of updates`,
      value: String(points),
      source,
      at: 'Annex IV 5',
      where,
    },
    () => {
      expect(repairabilityIndex(phone(best, {}, { updates: years }), false).scores.updates).toBe(points);
      if (years === 7)
        expect(repairabilityIndex(phone(best, {}, { updates: 9 }), false).scores.updates).toBe(5);
    },
  );
}

for (const [id, information, points, words] of [
  ['index-40', 'public', 5, 'public and free'],
  ['index-41', 'free', 3, 'free to professionals'],
  ['index-42', 'fee', 1, 'at a reasonable fee'],
] as const satisfies readonly (readonly [string, Information, number, string])[]) {
  outside(
    {
      id,
      what: `Points for repair information ${words}`,
      value: String(points),
      source,
      at: 'Annex IV 5',
      where,
    },
    () => {
      expect(repairabilityIndex(phone(best, {}, { information }), false).scores.information).toBe(points);
    },
  );
}

for (const [id, letter, from, below] of [
  ['index-43', 'A', 4, 'B'],
  ['index-44', 'B', 3.35, 'C'],
  ['index-45', 'C', 2.55, 'D'],
  ['index-46', 'D', 1.75, 'E'],
  ['index-47', 'E', 1, null],
] as const) {
  outside(
    { id, what: `Class ${letter} from`, value: from.toFixed(2), source, at: 'Annex II table 4', where },
    () => {
      expect(classOf(from)).toBe(letter);
      if (below) expect(classOf(from - 0.001)).toBe(below);
    },
  );
}

outside(
  {
    id: 'index-48',
    what: 'A limit that is met by a sum of hundredths is met',
    value: 'no class lost to rounding',
    source,
    at: 'Annex II table 4',
    known: 'computed',
    where,
  },
  () => {
    for (const limit of [4, 3.35, 2.55, 1.75]) {
      expect(classOf(limit - 4e-16)).toBe(classOf(limit));
      expect(classOf(limit - 1e-6)).not.toBe(classOf(limit));
    }
  },
);

outside(
  {
    id: 'index-49',
    what: 'Of several parts of one kind',
    value: 'the lowest score counts',
    source,
    at: 'Annex IV 5',
    where,
  },
  () => {
    const two = phone(best, { 'rear-camera': [best, worst, { ...best, steps: 4 }] });
    expect(index(two)).toBeCloseTo(index(phone(best, { 'rear-camera': [worst] })), 12);
  },
);

outside(
  {
    id: 'index-50',
    what: 'A part that the phone does not have',
    value: 'the highest score',
    source,
    at: 'Annex IV 5',
    where,
  },
  () => {
    expect(index(phone(worst, { 'front-camera': [] }))).toBeCloseTo(
      index(phone(worst, { 'front-camera': [best] })),
      12,
    );
    const { 'front-camera': _, ...rest } = phone(worst).parts;
    expect(index({ ...phone(worst), parts: rest })).toBeCloseTo(
      index(phone(worst, { 'front-camera': [best] })),
      12,
    );
  },
);

outside(
  {
    id: 'index-51',
    what: 'Each remote notification or authorisation counts for',
    value: '5 steps',
    source,
    at: 'Annex IV 5',
    where,
  },
  () => {
    for (const pairingActions of [1, 2])
      for (const steps of [1, 3, 6, 11, 16]) {
        const paired = phone({ ...best, steps, pairingActions });
        expect(index(paired)).toBeCloseTo(index(phone({ ...best, steps: steps + 5 * pairingActions })), 12);
      }
  },
);

outside(
  {
    id: 'index-52',
    what: 'Worked drop: a battery at 3 steps (4 points) that needs both is at 13 (2 points): 2 × 0.30 × 0.25',
    value: '0.15',
    source,
    at: 'Annex IV 5',
    known: 'computed',
    where,
  },
  () => {
    const battery = (pairingActions: number) =>
      phone(best, { battery: [{ ...best, steps: 3, pairingActions }] });
    expect(index(battery(0)) - index(battery(2))).toBeCloseTo(0.15, 12);
    expect([depthPoints(3), depthPoints(13)]).toEqual([4, 2]);
  },
);

outside(
  {
    id: 'index-53',
    what: 'More steps, worse fasteners or tools, or pairing never raise it',
    value: 'monotone',
    source,
    at: 'Annex IV 5',
    known: 'computed',
    where,
  },
  () => {
    const part = fc.record({
      steps: fc.integer({ min: 1, max: 40 }),
      fasteners: fc.constantFrom<Fasteners>('reusable', 'resupplied', 'removable'),
      tools: fc.constantFrom<Tools>('none', 'basic', 'with-part', 'with-product', 'on-sale'),
      pairingActions: fc.integer({ min: 0, max: 2 }),
    });
    fc.assert(
      fc.property(part, part, fc.constantFrom(...priorityParts), fc.boolean(), (all, one, at, folds) => {
        const facts = phone(all, { [at]: [one] });
        const before = index(facts, folds);
        expect(before).toBeGreaterThanOrEqual(1);
        expect(before).toBeLessThanOrEqual(5);
        const worse = phone(all, {
          [at]: [{ ...one, steps: one.steps + 3, pairingActions: 2, tools: 'on-sale' }],
        });
        expect(index(worse, folds)).toBeLessThanOrEqual(before + 1e-12);
      }),
    );
    expect(() => index(phone({ ...best, steps: 0 }))).toThrow(RangeError);
  },
);

const show = (family: string) => {
  const reply = testBot().say(`/family show ${family}`);
  return { reply, data: familyShowData.parse(reply.data).repairability };
};

outside(
  {
    id: 'index-54',
    what: 'A family of the pack, by hand: depth 4.3, fasteners 5, tools 4.4, least of the law (spares 3, updates 1, information 1)',
    value: '3.235',
    source: [source, 'eu-2023-1670'],
    at: 'Annex IV 5; Annex II Part B 1.1',
    known: 'computed',
    where: '/family show',
  },
  () => {
    const family = testBot().context().knowledge.families.get('modular-user-serviceable');
    // Steps 2, 4, 1, 6, 5, 5, 8, 5, 5: points 5, 4, 5, 3, 4, 4, 3, 4, 4. Tools: none for battery and back cover, else basic.
    const depth = 0.3 * 5 + 0.3 * 4 + 0.1 * 5 + 0.05 * (3 + 4 + 4 + 3 + 4 + 4);
    const tools = 0.3 * 5 + 0.3 * 4 + 0.1 * 5 + 0.05 * 6 * 4;
    const wanted = 0.25 * depth + 0.15 * 5 + 0.15 * tools + 0.15 * (3 + 1 + 1);
    expect(family?.components.battery).toEqual({ steps: 2, fasteners: 'reusable', tools: 'none' });
    const { data, reply } = show('modular-user-serviceable');
    expect(wanted).toBeCloseTo(3.235, 9);
    expect(data.rated?.index).toBeCloseTo(wanted, 4);
    expect(data.rated?.class).toBe('C');
    expect(wordsOf(reply)).toContain('about 3.23 of 5, class C');
    expect(reply.sources.map((one) => one.id)).toEqual(expect.arrayContaining([source, 'eu-2023-1670']));
  },
);

outside(
  {
    id: 'index-55',
    what: 'A family with serialised parts: the penalty is shown, with what it would be unpaired',
    value: 'class E instead of D',
    source,
    at: 'Annex IV 5',
    known: 'computed',
    where: '/family show',
  },
  () => {
    const { data, reply } = show('stacked-board-glued-back');
    expect(data.paired).toEqual(expect.arrayContaining(['battery', 'display-assembly']));
    // Battery 9 to 19 steps (3 to 1), front camera 11 to 21 (2 to 1), rear camera 10 to 20 (3 to 1); the display is at 1 already.
    const drop = 0.25 * (0.3 * 2 + 0.05 * 1 + 0.05 * 2);
    expect((data.unpaired?.index ?? 0) - (data.rated?.index ?? 0)).toBeCloseTo(drop, 4);
    expect([data.unpaired?.class, data.rated?.class]).toEqual(['D', 'E']);
    expect(wordsOf(reply)).toContain('unpaired it would be 1.87, class D');
    expect(wordsOf(reply)).toContain('both a remote notification and an authorisation');
  },
);

outside(
  {
    id: 'index-56',
    what: 'Where something is not known there is no number, and what is missing is named',
    value: 'no number',
    source,
    at: 'Annex IV 5',
    known: 'computed',
    where: '/family show',
  },
  () => {
    const old = show('removable-back-slab');
    expect(old.data).toMatchObject({
      rated: null,
      missing: ['spares', 'updates', 'information'],
    });
    expect(wordsOf(old.reply)).toMatch(/not worked out; not known: which spare parts go to whom/);
    expect(wordsOf(old.reply)).not.toMatch(/of 5, class/);
    expect(show('budget-port-on-board').data.missing).toEqual([
      'disassembly:charging-port',
      'disassembly:main-microphone',
    ]);
    expect(show('rugged-removable-back').data.missing).toEqual(['smartphone']);
    for (const family of testBot().context().knowledge.families.keys()) {
      const { data } = show(family);
      expect(data.rated === null).toBe(data.missing.length > 0);
    }
  },
);
