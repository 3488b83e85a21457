/** A belief about a number in log price: its mean and standard deviation. */
export interface Belief {
  mean: number;
  sd: number;
}

/** What the market model believes before it has seen a price. All effects are on ln(price). */
export interface MarketSettings {
  /** Change for each year of the phone's age. */
  depreciation: Belief;
  /** Change for each step of condition grade (-2 poor to 2 as new). */
  gradeStep: Belief;
  /** Change for each doubling of storage. */
  storageDoubling: Belief;
  /** How far an asked price lies above what the same phone sells for. */
  askedDiscount: Belief;
  /**
   * How far the price today lies above that of three months ago and earlier, besides its steady depreciation: a drift of
   * the level, known less the older a sighting is. A mean and a deviation of 0 leave it out.
   */
  recentChange: Belief;
  /** How far a model's price at age 0 may lie from its price when new. */
  newPriceSd: number;
  /** Spread of single sales of like phones, and the weight of that belief (a_0 of the inverse gamma). */
  spread: number;
  spreadShape: number;
  /**
   * Degrees of freedom of the errors, in finding outliers and in the range of the answer; Infinity weighs all sightings
   * alike.
   */
  outlierDegrees: number;
}

export const defaultMarketSettings: MarketSettings = {
  depreciation: { mean: -0.35, sd: 0.1 },
  gradeStep: { mean: 0.12, sd: 0.06 },
  storageDoubling: { mean: 0.06, sd: 0.04 },
  askedDiscount: { mean: 0.1, sd: 0.08 },
  recentChange: { mean: -0.12, sd: 0.09 },
  newPriceSd: 0.25,
  spread: 0.15,
  spreadShape: 3,
  outlierDegrees: 4,
};

/** Where a number comes from. */
type MarketGround =
  | { kind: 'published'; source: string }
  | { kind: 'assumed'; why: string }
  /** The collective's own setting. */
  | { kind: 'collective' }
  /** Given with the question: a sighting, a price when new. */
  | { kind: 'given' };

export interface MarketInput {
  name: string;
  value: number;
  ground: MarketGround;
}

const assumed = (why: string): MarketGround => ({ kind: 'assumed', why });

const grounds: Record<keyof MarketSettings, MarketGround> = {
  depreciation: {
    kind: 'published',
    source:
      'about 29 to 32 % a year in second-hand phone listings (Nakavachara & Saengchote 2017, as reported); 21 to 26 % a year for handheld computers, quality adjusted (NBER working paper 10746, as reported)',
  },
  gradeStep: assumed('from memory; replaced by sightings of different grades'),
  storageDoubling: assumed('from memory; replaced by sightings of different storage'),
  askedDiscount: assumed('no source; replaced when both sold and asked prices are seen'),
  recentChange: assumed(
    'no source: within three months a price may have fallen besides its steady loss (8 times in 10 by nothing to 21 %); recent sightings replace it',
  ),
  newPriceSd: assumed('no source'),
  spread: assumed('no source; replaced by the spread of the sightings'),
  spreadShape: assumed('the spread counts as much as six sightings'),
  outlierDegrees: assumed('a usual choice for heavy-tailed errors'),
};

/** The settings with a collective's own ones laid over the defaults. */
export function withDefaults(own: Partial<MarketSettings>): MarketSettings {
  return { ...defaultMarketSettings, ...own };
}

/** Every setting as a named number with its ground; the collective's own ones say so. */
export function settingInputs(own: Partial<MarketSettings>): MarketInput[] {
  const all = withDefaults(own);
  const ground = (name: keyof MarketSettings): MarketGround =>
    own[name] === undefined ? grounds[name] : { kind: 'collective' };
  const belief = (
    name: 'depreciation' | 'gradeStep' | 'storageDoubling' | 'askedDiscount' | 'recentChange',
  ): MarketInput[] => [
    { name, value: all[name].mean, ground: ground(name) },
    {
      name: `${name}Sd`,
      value: all[name].sd,
      // The published figures give the mean; how far a model may differ is ours.
      ground: own[name] === undefined ? assumed('how far a model may differ; no source') : ground(name),
    },
  ];
  const single = (name: 'newPriceSd' | 'spread' | 'spreadShape' | 'outlierDegrees'): MarketInput => ({
    name,
    value: all[name],
    ground: ground(name),
  });
  return [
    ...belief('depreciation'),
    ...belief('gradeStep'),
    ...belief('storageDoubling'),
    ...belief('askedDiscount'),
    ...belief('recentChange'),
    single('newPriceSd'),
    single('spread'),
    single('spreadShape'),
    single('outlierDegrees'),
  ];
}
