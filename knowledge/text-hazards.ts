/**
 * What the words of a step demand: a step that says to warm, to pry or to charge must declare that hazard, and an outcome
 * that says swollen or wet must state it as a fact. Words that a sentence forbids ("no blade") demand nothing.
 */
import { hazards as allHazards, type Hazard, type SeenFact, seenFacts } from './schema.ts';

/** The file that these checks run from: a pack that passed an older one is checked anew. */
export const textHazardsFile = import.meta.filename;

/** A hazard, or that the phone is on. */
export type TextHazard = Hazard | 'powers';
const dangers: readonly TextHazard[] = [...allHazards, 'powers'];

/** A part of an entry whose texts are held against what it declares. */
export interface Step {
  texts: readonly string[];
  hazards: readonly Hazard[];
  /** Undefined where nothing says whether the phone is on: it is not asked for. */
  powers?: boolean;
  /** The phone is on unless the step says why it is not. */
  poweredByRule?: boolean;
  mentions?: Partial<Record<TextHazard, string>> | undefined;
}

/** Forms that say to do a thing, and not only that it exists: "warm the edge", but not "one part is warm". */
const dangerWords: Partial<Record<TextHazard, RegExp>> = {
  heats:
    /\bwarm (the|its|a|an|each|one|only|longer|again|edges?)\b|\b(little|even|keep the) heat\b|\bheat (plate|mat|gun|shields?)\b|\bhot[- ](air|plate)\b|\bpreheat|\bwarm pad\b|\b(an|the) iron\b/gi,
  dissolves: /\b(isopropyl|alcohol|solvents?|acetone|thinner|petrol|adhesive remover)\b/gi,
  pries:
    /\b(pry|prying|lever)\b|\bplastic picks?\b|\bplastic card\b|\bthin card\b|\bsuction cup\b|\bpull tabs?\b|\bpeel (a|the) wrap\b|\bpart (the halves|its clips)\b|\blift from a corner\b|\bplastic tool\b|\bcell\b[^.;:]{0,50}\bout of the phone\b/gi,
  punctures: /\b(blade|scalpel|knife|razor|needle)\b|\bcard under the cell\b/gi,
  cuts: /\b(blade|scalpel|knife|razor)\b|\bcutting wire\b|\bwire saw\b/gi,
  presses:
    /\bclamp|\blaminat|\b(press|clip) (the clips |the back |it )?shut\b|\bpress (evenly|lightly|in small steps|down|at the frame)\b|\bclip by clip\b|\bonly then seal\b|\bnew seal\b|\bseal is used once\b/gi,
  charges:
    /\b(part-)?charges? (it|once|slowly|the|to|without)\b|\b(on|at|between|with|try|give it|another|several|three|wireless)\b[^.;:,]{0,40}?\bchargers?\b(?! out)|\bon a pad\b|\bdoes it charge\b|\bcharge now\b|\bthe charging come\b|\bcharging and\b/gi,
  solders: /\b(un|re|de)?solder(ing)?\b|\bflux\b|\b(an|the) iron\b|\breball/gi,
  'live-supply': /\bbench supply\b|\btest lead with \d/gi,
  mains:
    /\bbench supply\b|\bhot[- ]air\b|\bultrasonic bath\b|\blamination press\b|\b(un|re|de)?solder(ing)?\b|\bflux\b|\b(an|the) iron\b/gi,
  laser: /\blaser\b/gi,
  uv: /\bUV\b|\bultraviolet\b/g,
  'inverted-gas': /\bcanned (air|gas)\b|\bgas duster\b|\bfreez(e|ing) spray\b/gi,
  freezes: /\bfreez(e|er|ing)\b(?! spray)|\bdry ice\b/gi,
  'broken-glass':
    /\bcracked glass\b|\bglass is cracked\b|\bglasses on for glass\b|\bsplinters\b|\bnew glass on\b|\bwhat is broken\b|\bis the outer lens cover cracked\b|\bcut the glass\b/gi,
  wet: /\bwet\b|\bliquid mark\b|\bfilm\b.*\bclean the board\b|\bwater out\b/gi,
  'unsafe-cell': /\bsand or clay litter\b|\bdamaged cells?\b/gi,
  powers:
    /\bswitch (it|vibration) on\b|\bswitch on the button\b|\btake face unlock off\b|\brestart\b|\bstart it\b|\bdoes (it|that phone) start\b|\bstart into\b|\bpress the button\b|\brecord\b|\bplay (a|sound)\b|\bring it\b|\bin a call\b|\btry a call\b|\benrol\b|\bopen the camera\b|\bin the settings\b|\bjoin a network\b|\bconnected to a network\b|\bleave it for an hour\b|\bafter ten minutes of use\b|\bin normal use\b|\bdrawing page\b|\btry touch\b|\boff and on\b|\bdoes it (act|charge now|go dark|sound)\b|\bdo(es)? pressing it act\b|\bdoes pressing it act\b|\bhow many full cycles\b|\bpicture (back|come)\b|\bpicture and touch\b|\btest cell in\b|\bdoes the picture\b|\btry (picture|every|focus|a plug|a SIM|it before|it with|two)\b|\bchargers and the microphone\b|\bhear it\b|\btest every function\b|\bread (its|the battery)\b|\bcompare the signal\b|\bhow many bars\b|\bwhat does it find\b|\bsound on both sides\b|\bwhat does the fold do\b|\bset it up\b|\bpress each key\b|\bplug it in last\b|\bnew cell in\b|\bpress the plug home\b|\bbench supply\b|\bsign and no current\b|\bno sign\b/gi,
};

const factWords: Partial<Record<SeenFact, RegExp>> = {
  swollen: /\bswollen\b|\bswell|\bbloat|\bbulg|\bpillow\b|\bpuff/gi,
  lifted:
    /\b(screen|back|display|panel) (is )?lift(s|ed|ing)?\b|\blifted (screen|back|panel)\b|\bstands? up\b/gi,
  leaking: /\bleak/gi,
  hurt: /\bdent|\bpierc|\bpunctur|\bcrush|\babove what is marked\b/gi,
  hot: /\bsmok|\bhiss|\bcell hot\b|\bhot (cell|battery)\b|\bover the cell\b/gi,
  wet: /\bwet\b|\bliquid\b|\bfilm\b|\bgreen\b|\bturned colour\b|\bfog\b|\bcondensation\b|\bmoisture\b|\bwater\b|\bcorro|\brust\b/gi,
};

/** A word that takes back what follows it in the same part of a sentence. */
const negation =
  /\b(no|not|never|without|nothing|none|nor|neither|away from|off the|before any|instead of|in place of)\b/i;

/** The first use of a word that the sentence does not forbid; null where there is none. */
function saidPlainly(text: string, words: RegExp): string | null {
  for (const found of text.matchAll(words)) {
    const before = text.slice(0, found.index);
    const part = before.slice(
      Math.max(...['.', ';', ':', ',', '?', '('].map((mark) => before.lastIndexOf(mark))) + 1,
    );
    if (!negation.test(part)) return found[0];
  }
  return null;
}

function demands<K extends string>(
  texts: readonly string[],
  keys: readonly K[],
  table: Readonly<Partial<Record<K, RegExp>>>,
): Map<K, string> {
  const found = new Map<K, string>();
  for (const key of keys) {
    const words = table[key];
    if (!words) continue;
    for (const text of texts) {
      const said = saidPlainly(text, words);
      if (said !== null) {
        found.set(key, said);
        break;
      }
    }
  }
  return found;
}

/** Hazards that texts of a step ask for, each with the words that do. */
export const dangersSaid = (texts: readonly string[]): Map<TextHazard, string> =>
  demands(texts, dangers, dangerWords);

/** Facts that texts of a symptom or an outcome state, each with the words that do. */
export const factsSaid = (texts: readonly string[]): Map<SeenFact, string> =>
  demands(texts, seenFacts, factWords);

/** What is wrong between the words of a step and what it declares, in words. */
export function stepProblems({ texts, hazards, powers, poweredByRule, mentions = {} }: Step): string[] {
  const said = dangersSaid(texts);
  if (powers === undefined) said.delete('powers');
  const declared = new Set<TextHazard>(hazards);
  if (powers) declared.add('powers');
  const named = (danger: TextHazard) => (danger === 'powers' ? '"powers: true"' : `hazard "${danger}"`);
  const lacking = [...said]
    .filter(([danger]) => !declared.has(danger) && mentions[danger] === undefined)
    .map(([danger, words]) => `says "${words}" without ${named(danger)}`);
  if (poweredByRule && !powers && mentions.powers === undefined && !said.has('powers'))
    lacking.push('is done with the phone on: needs "powers: true", or a reason in "mentions"');
  for (const danger of dangers.filter((one) => mentions[one] !== undefined)) {
    if (declared.has(danger)) lacking.push(`declares and only mentions ${named(danger)}`);
    else if (!said.has(danger) && !(danger === 'powers' && poweredByRule))
      lacking.push(`mentions ${named(danger)}, but no word of it says so`);
  }
  return lacking;
}

/** What is wrong between the words of a symptom or an outcome and the facts that it states. */
export function factProblems(
  texts: readonly string[],
  means: readonly SeenFact[],
  mentions: Partial<Record<SeenFact, string>> = {},
): string[] {
  const said = factsSaid(texts);
  const lacking = [...said]
    .filter(([fact]) => !means.includes(fact) && mentions[fact] === undefined)
    .map(([fact, words]) => `says "${words}" without "means: [${fact}]"`);
  for (const fact of seenFacts) {
    if (mentions[fact] !== undefined && !said.has(fact))
      lacking.push(`mentions the fact ${fact}, but no word of it says so`);
  }
  return lacking;
}
