/**
 * The shape of the knowledge pack. One zod schema a YAML file; `load.ts` reads them, checks the pack whole and
 * builds the indexed `Knowledge` that the rest of the bot uses.
 */
import { z } from 'zod';

/** Ids are lower-case words joined by hyphens; they are stored in people's databases, so they do not change. */
export const idSchema = z
  .string()
  .regex(/^[a-z0-9]+(-[a-z0-9]+)*$/, 'an id is lower-case words joined by hyphens')
  .max(48);

const text = z.string().trim().min(1).max(600);
const chance = z.number().min(0).max(1);
const minutes = z.number().min(0).max(600);

/**
 * Where a statement comes from.
 * `practice`: common practice, no source. `memory`: a published thing written from memory, not read again.
 * Otherwise a source of `sources.yaml`, and the place in it.
 */
export const groundSchema = z.union([
  z.enum(['practice', 'memory']),
  z.strictObject({ source: idSchema, at: text.optional() }),
]);
export type Ground = z.infer<typeof groundSchema>;

/** A sentence and its own ground. */
const statementSchema = z.strictObject({ says: text, ground: groundSchema });

/** What a step can do to a person, a cell or the phone. Every hazard must have a caution that fires on it. */
export const hazards = [
  'heats', // heat plate, hot air
  'pries', // a tool under glass or at a cell
  'presses', // clamps, pressing a frame or gasket shut
  'charges', // current into a cell
  'punctures', // a blade or point near a cell
  'dissolves', // solvent
  'solders', // iron, flux fume
  'live-supply', // a bench supply on the battery connector
  'broken-glass',
  'static',
  'wet', // liquid inside
  'unsafe-cell', // a cell that may be dangerous is handed over
  'mains', // a tool that runs on the mains: iron, hot air, bench supply, bath, laminator
  'laser',
  'uv', // a lamp that cures glue
  'cuts', // a blade or a cutting wire
  'inverted-gas', // canned gas that comes out liquid, freezing spray
  'freezes', // a phone or part made cold on purpose
] as const;
export type Hazard = (typeof hazards)[number];
const hazardSchema = z.enum(hazards);
/**
 * Hazards whose words stand in a step that does not do them, each with the reason; `powers`: that the phone is on. Sentences
 * that forbid a thing ("no blade") need none.
 */
const mentions = z.partialRecord(z.enum([...hazards, 'powers']), text).optional();

/** How far the phone is taken apart: 0 closed, 1 open, 2 board out. */
export const accessLevels = ['closed', 'open', 'board'] as const;
const accessSchema = z.enum(accessLevels);
export type AccessLevel = (typeof accessLevels)[number];

const sourceSchema = z.strictObject({
  id: idSchema,
  title: text,
  publisher: text,
  date: z.string().max(40).optional(),
  /** read: the figure was read in the source; reported: in a page that reports it; memory: from memory. */
  checked: z.enum(['read', 'reported', 'memory']),
});
export type Source = z.infer<typeof sourceSchema>;

/**
 * What eyes, nose or hands settle about a phone, whatever the odds say. All but `wet` put its cell under suspicion:
 * `swollen` bulges, `hot` is hot, hisses or smokes, `leaking` leaks or smells, `hurt` is dented, pierced or torn,
 * `lifted` stands off (a screen or back that something pushes up). `wet`: there is or was liquid inside. `mark-dry` and
 * `seal-whole`, seen after that, together say that none got in.
 */
export const seenFacts = [
  'swollen',
  'hot',
  'leaking',
  'hurt',
  'lifted',
  'wet',
  'mark-dry',
  'seal-whole',
] as const;
export type SeenFact = (typeof seenFacts)[number];
const means = z.array(z.enum(seenFacts)).default([]);
/**
 * True where the phone has to be on for it, is switched on by it or after it to see whether it worked, or where current is
 * put on its board: never done with a wet one.
 */
const powers = z.boolean().default(false);
/** Facts whose words stand in a text that does not state them, each with the reason. */
const mentionsFacts = z.partialRecord(z.enum(seenFacts), text).optional();

/** A construction feature that faults, checks and pairing statements refer to. */
const featureSchema = z.strictObject({ id: idSchema, says: text });

const componentSchema = z.strictObject({
  id: idSchema,
  name: text, // Annex II name of Regulation (EU) 2023/1670 where it has one
  annexName: z.boolean(),
  plain: z.array(text).min(1), // what people call it
  handling: z.array(text).min(1), // how to handle it without damaging it
  /** Price of the part as a share of the phone's price when new: low, typical, high. */
  partShare: z.tuple([chance, chance, chance]),
  /** What a sound used one fetches, as a share of the part's price. */
  salvage: chance,
  /** The plain functional check of the part, for the final test. */
  test: text,
  ground: groundSchema,
});
export type Component = z.infer<typeof componentSchema>;

const disassembly = z.strictObject({
  /** Steps to take the part out, counted as in Delegated Regulation (EU) 2023/1669, Annex IV 5. */
  steps: z.number().int().min(1).max(60),
  fasteners: z.enum(['reusable', 'resupplied', 'removable']),
  tools: z.enum(['none', 'basic', 'with-part', 'with-product', 'on-sale']),
});

const familySchema = z.strictObject({
  id: idSchema,
  name: text,
  about: text, // how it is built, in two sentences
  era: z.strictObject({
    from: z.number().int().min(1995).max(2040),
    to: z.number().int().max(2040).nullable(),
  }),
  features: z.array(idSchema),
  /** Getting in: minutes, hazards, and the steps in order. `breaks` says what opening costs (seal, gasket). */
  open: z.strictObject({
    minutes,
    hazards: z.array(hazardSchema),
    mentions,
    steps: z.array(text).min(1),
    breaks: text.nullable(),
    tools: z.array(text),
  }),
  /** From open to board out. */
  board: z.strictObject({
    minutes,
    hazards: z.array(hazardSchema),
    mentions,
    steps: z.array(text).min(1),
  }),
  close: z.strictObject({ minutes, hazards: z.array(hazardSchema), mentions, note: text }),
  cell: z.strictObject({
    held: z.enum(['loose', 'pull-tabs', 'wrap', 'glue', 'released', 'screws']),
    note: text,
  }),
  /** Components this family has, with how they come out where known (for the repairability index). */
  components: z.record(idSchema, disassembly.nullable()),
  ground: groundSchema,
});
export type Family = z.infer<typeof familySchema>;

export const pairingEffects = ['free', 'notice', 'reduced', 'calibrate', 'lost'] as const;
export type PairingEffect = (typeof pairingEffects)[number];
/** What a swap of a component does in families that have all the features in `when`. */
const pairingSchema = z.strictObject({
  id: idSchema,
  component: idSchema,
  when: z.array(idSchema),
  effect: z.enum(pairingEffects),
  loses: text, // what the owner notices
  travels: z.boolean(), // must travel with the board to keep its function
  mends: text, // what puts it right
  /** Chance of seeing the effect, and how many observations that is worth as a prior. */
  likely: chance,
  strength: z.number().min(0.5).max(40),
  ground: groundSchema,
});
export type Pairing = z.infer<typeof pairingSchema>;

const conditionFields = {
  /** Only in families with all of these features / with none of these. */
  with: z.array(idSchema).optional(),
  without: z.array(idSchema).optional(),
};

/** What can be observed of a phone: nothing of one that is dead, a start of one that gets no further, or all. */
const powers3 = ['dead', 'starts', 'runs'] as const;
/** When something can be told of a phone at all, by its state as it is at that moment. */
const whenSchema = z.strictObject({
  /** Only in these states of power. */
  power: z.array(z.enum(powers3)).min(1).optional(),
  /** Only while one of these symptoms is open. */
  open: z.array(idSchema).min(1).optional(),
  /** Not while one of these symptoms is open, or while it is `wet`. */
  not: z.array(idSchema).min(1).optional(),
});
export type When = z.infer<typeof whenSchema>;

/** What symptoms are listed under where all are offered; the last takes in what is told of none. */
const symptomGroups = ['power', 'face', 'senses', 'past'] as const;
export type SymptomGroup = (typeof symptomGroups)[number];

const symptomSchema = z.strictObject({
  id: idSchema,
  name: text,
  group: z.enum(symptomGroups).default('past'),
  alias: z.array(text),
  ...conditionFields,
  /** When it can be seen, shown or not; without it always. */
  when: whenSchema.optional(),
  /** P(this is seen | fault): for faults not named, `otherwise`. */
  seen: z.strictObject({ otherwise: chance, faults: z.record(idSchema, chance) }),
  /** What a phone sells for with this open and told to the buyer, as a share of a sound one. Without it: nothing. */
  keeps: chance.optional(),
  /** What happened to the phone, and no defect of its own: it never goes. */
  history: z.boolean().optional(),
  /** The component that it shows to be broken: known work, and no question of which fault. */
  damage: idSchema.optional(),
  /** Anybody who looks at the phone would see it, with nothing done to it: asked for once at intake. */
  plainToSee: z.boolean().optional(),
  /** Closed looks that come first, in this order, before the phone is opened or money is spent. */
  first: z.array(idSchema).optional(),
  /** Facts that it states. */
  means,
  mentions: mentionsFacts,
  /** What is there for as long as the phone is worked on: its caution is drawn at every step. */
  hazards: z.array(hazardSchema).default([]),
  ground: groundSchema,
});
export type Symptom = z.infer<typeof symptomSchema>;

const faultSchema = z.strictObject({
  id: idSchema,
  name: text,
  component: idSchema,
  /** Relative frequency among phones that reach a bench; only ratios matter. */
  weight: z.number().positive().max(1000),
  ...conditionFields,
  /** Weight multiplied for families with a feature. */
  times: z.record(idSchema, z.number().positive().max(20)).optional(),
  why: text, // what physically happens
  /** Faults that no check parts from this one, and why none can. */
  unparted: z.record(idSchema, text).optional(),
  ground: groundSchema,
});
export type Fault = z.infer<typeof faultSchema>;

/** A reading typed by a person falls in the outcome whose band holds it: from <= x < to. */
const band = z.strictObject({ from: z.number(), to: z.number() });
export const quantities = ['V', 'A', 'W', 'ohm', 'C', '%', 'cycles', 'mAh'] as const;

/** Tables that a bench keeps of sound phones: diode readings by connector and pin, currents of a start. */
export const benchTables = ['diode', 'start'] as const;
export type BenchTable = (typeof benchTables)[number];

export const checkSchema = z.strictObject({
  id: idSchema,
  name: text,
  ask: text, // what to do and look at, one or two sentences
  why: text.optional(),
  minutes,
  access: accessSchema,
  needs: z.array(text), // meter, test cell, bench supply ...
  hazards: z.array(hazardSchema),
  powers,
  mentions,
  ...conditionFields,
  /** When its outcomes can be told: a dead phone plays no tone, one that runs is not started, a wet one is not charged. */
  when: whenSchema.optional(),
  unit: z.enum(quantities).optional(),
  /** The bench's own table of the model that it is held against. */
  table: z.enum(benchTables).optional(),
  /** From nothing wrong to most wrong: with several faults the most wrong of what each alone would give is seen. */
  outcomes: z
    .array(
      z.strictObject({
        id: idSchema,
        says: text,
        band: band.optional(),
        means,
        mentions: mentionsFacts,
        /** Symptoms that are gone when it comes: what starts is not dead. */
        clears: z.array(idSchema).optional(),
        /** Remedies that are not done after it, whatever the odds. */
        bars: z.array(idSchema).optional(),
      }),
    )
    .min(2)
    .max(6),
  /** P(outcome | fault), in the order of `outcomes`; for faults not named, `otherwise`. Each sums to 1. */
  given: z.strictObject({
    otherwise: z.array(chance),
    faults: z.record(idSchema, z.array(chance)),
    /** Rows that differ while the phone is dead. */
    dead: z
      .strictObject({
        otherwise: z.array(chance).optional(),
        faults: z.record(idSchema, z.array(chance)).optional(),
      })
      .optional(),
  }),
  /** Faults that decide by themselves what is seen, the strongest first, where no order of outcomes fits them. */
  masks: z.array(idSchema).optional(),
  /**
   * A known-good part is tried: a symptom of `shows` goes (the first outcome) or stays (the last) as it would once the faults
   * of that component were gone, so that no row is needed. The rows stand for faults judged one at a time.
   */
  substitutes: z.strictObject({ component: idSchema, shows: z.array(idSchema).min(1) }).optional(),
  ground: groundSchema,
});
export type Check = z.infer<typeof checkSchema>;

/** What a part that is fitted, bought or sold is. */
export const partGrades = ['original', 'refurbished', 'copy', 'used'] as const;
export type PartGrade = (typeof partGrades)[number];

const remedySchema = z.strictObject({
  id: idSchema,
  name: text,
  /** P(the phone works after it | fault). */
  works: z.record(idSchema, chance),
  parts: z.array(z.strictObject({ component: idSchema, grade: z.enum(partGrades) })),
  /** Solder, gasket, solvent and the like, as a share of the price when new. */
  consumables: chance,
  minutes,
  access: accessSchema,
  hazards: z.array(hazardSchema),
  powers,
  mentions,
  /** The inside is cleaned and dried: a wet phone is no longer wet after it. */
  cleans: z.boolean().default(false),
  /** When it can be done and judged; without it always. */
  when: whenSchema.optional(),
  ...conditionFields,
  steps: z.array(text).min(1),
  /** What the repaired phone is worth next to a sound one with original parts (1 = the same). */
  keeps: chance,
  /** What must be told to the next owner. */
  disclose: z.array(text),
  ground: groundSchema,
});
export type Remedy = z.infer<typeof remedySchema>;

/**
 * When a function is tested, as the bench comes to it: with the cell in and the phone still open; with everything plugged in
 * and laid together; on a call beside another phone; on chargers; and once it is closed.
 */
export const testGroups = ['open', 'plugged', 'call', 'charger', 'closed'] as const;
export type TestGroup = (typeof testGroups)[number];

/** Something a phone does, gone through before it is closed for good. */
const functionSchema = z.strictObject({
  id: idSchema,
  name: text,
  group: z.enum(testGroups).default('plugged'),
  how: text, // how to see that it works
  hazards: z.array(hazardSchema).default([]),
  powers,
  mentions,
  /** A family has it when it has any of these. */
  components: z.array(idSchema).min(1),
  ...conditionFields,
  /** Done last, when the phone is closed: the seal. */
  closing: z.boolean().default(false),
  ground: groundSchema,
});
export type PhoneFunction = z.infer<typeof functionSchema>;

const byRegion = z.record(
  z.string().regex(/^([A-Z]{2}(-[A-Z]{2,3})?|EU|other)$/, 'a region such as DE, US-OR, EU, or other'),
  text,
);
export const cautionSchema = z.strictObject({
  id: idSchema,
  name: text,
  alias: z.array(text),
  tone: z.enum(['caution', 'danger']),
  /** The one sentence that is drawn before everything else. */
  lead: text,
  /** For a repeat: one line that names the act and when to stop. Not there where `neverShort`. */
  short: z.string().trim().min(1).max(110).optional(),
  /** Drawn in full each time it fires: a suspect cell, liquid that is not cleared. */
  neverShort: z.boolean().default(false),
  firesOn: z.array(hazardSchema),
  do: z.array(statementSchema).min(1),
  dont: z.array(statementSchema).min(1),
  stopWhen: z.array(statementSchema).min(1),
  getHelp: z.array(statementSchema).min(1),
  dispose: z.array(statementSchema).min(1),
});
export type Caution = z.infer<typeof cautionSchema>;

/** Whom a caution calls: {fire}, {ambulance}, {police} and {poison} in its texts. */
export const services = ['fire', 'ambulance', 'police', 'poison'] as const;
export type Service = (typeof services)[number];

/** What differs by place: whom to call, where cells go. */
export const regionSchema = z.strictObject({
  /** By ISO 3166 code or EU; a service that a place does not name is taken from the place that it lies in. */
  emergency: z.record(
    z.string(),
    z.partialRecord(z.enum(services), z.strictObject({ number: text, ground: groundSchema })),
  ),
  /** ISO 3166 codes of the members of the European Union. */
  eu: z.array(z.string().length(2)),
  dispose: byRegion,
});
export type Regions = z.infer<typeof regionSchema>;

const lawSchema = z.strictObject({
  id: idSchema,
  /** ISO 3166-1 or 3166-2 codes, or EU. */
  region: z
    .array(z.string().regex(/^([A-Z]{2}(-[A-Z]{2,3})?|EU)$/, 'a region such as DE, US-OR or EU'))
    .min(1),
  title: text,
  topic: z.enum(['pairing', 'parts', 'battery', 'identity', 'repair', 'index', 'none-found']),
  from: z.iso.date().nullable(),
  until: z.iso.date().nullable(),
  says: z.array(text).min(1),
  limits: z.array(text), // what it does not reach
  ground: groundSchema,
});
export type Law = z.infer<typeof lawSchema>;

/** Free facts a bench knows, shown by the commands that name them. */
const lessonSchema = z.strictObject({
  id: idSchema,
  about: z.array(idSchema), // components, features, symptoms, checks or remedies
  says: text,
  ground: groundSchema,
});
export type Lesson = z.infer<typeof lessonSchema>;

/** What a phone that stays in use spares, as published: a range, since studies differ. */
const factorSchema = z.strictObject({
  id: idSchema,
  of: z.enum(['mass', 'raw-material', 'greenhouse-gas']),
  /** For one phone; for one phone and a year of its use; or for the whole life of one, of so many `years`. */
  per: z.enum(['phone', 'year', 'life']),
  years: z.number().positive().max(20).optional(),
  /** Kilograms; of greenhouse gas, kilograms of CO2 equivalent. */
  low: z.number().positive().max(10_000),
  high: z.number().positive().max(10_000),
  says: text, // what was measured
  ground: groundSchema,
});
export type Factor = z.infer<typeof factorSchema>;

/** A number that the whole pack rests on. */
const rateSchema = z.strictObject({
  id: idSchema,
  value: z.number().positive().max(1000),
  says: text,
  ground: groundSchema,
});
export type Rate = z.infer<typeof rateSchema>;

/** The files of a pack and what each holds. */
export const packFiles = {
  sources: z.array(sourceSchema),
  features: z.array(featureSchema),
  components: z.array(componentSchema),
  families: z.array(familySchema),
  pairing: z.array(pairingSchema),
  symptoms: z.array(symptomSchema),
  faults: z.array(faultSchema),
  checks: z.array(checkSchema),
  remedies: z.array(remedySchema),
  functions: z.array(functionSchema),
  cautions: z.array(cautionSchema),
  laws: z.array(lawSchema),
  lessons: z.array(lessonSchema),
  factors: z.array(factorSchema),
  rates: z.array(rateSchema),
  regions: regionSchema,
} as const;
export type PackFile = keyof typeof packFiles;
