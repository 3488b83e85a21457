/** Safety cautions: which ones a step needs, and what they say in a region. */
import type { Knowledge } from '../../knowledge/load.ts';
import { type Caution, type Ground, type Hazard, type Service, services } from '../../knowledge/schema.ts';
import { statementParts } from '../../knowledge/translation.ts';
import type { Message } from '../language/message.ts';
import { packText, say, typed, verbatim } from '../language/say.ts';
import { codesOf } from './region.ts';
import { mayBeShort } from './repetition.ts';

export const LOCAL_CODES = 'Local codes and licensed practice come first.';

/** What is drawn before a reply. */
export interface SafetyCard {
  id: string;
  name: Message;
  tone: 'caution' | 'danger';
  lead: Message;
  points: Message[];
  /** One line with when to stop. A card without one is never shortened. */
  line?: Message;
  /** Said to this person for this phone already. */
  brief?: true;
}

type Places = Pick<Knowledge, 'regions'>;

/**
 * The number of a service (the fire service unless another is asked for) in a region (ISO 3166; null: not set): the nearest
 * place that names one. Where none does: "your local emergency number", or "your local poison line".
 */
export function emergencyNumber(
  { regions }: Places,
  region: string | null,
  service: Service = 'fire',
): Message {
  for (const code of codesOf(regions, region)) {
    const [first, second] = regions.emergency[code]?.[service]?.number.split(' or ') ?? [];
    if (first === undefined) continue;
    return second === undefined ? verbatim(first) : say`${verbatim(first)} or ${verbatim(second)}`;
  }
  return service === 'poison' ? say`your local poison line` : say`your local emergency number`;
}

/** Where a cell goes in a region. */
export function disposalAdvice({ regions }: Places, region: string | null): Message {
  const [code] = codesOf(regions, region).filter((one) => regions.dispose[one]);
  const found = regions.dispose[code ?? 'other'] ?? regions.dispose.other;
  return found === undefined
    ? say`Never in the bin: ask the local waste authority where cells go.`
    : packText(found);
}

const filler =
  (places: Places, region: string | null) =>
  (text: string): Message =>
    packText(text, {
      dispose: disposalAdvice(places, region),
      ...Object.fromEntries(services.map((one) => [one, emergencyNumber(places, region, one)])),
    });

/** True where a sentence says whom to call. */
const calls = ({ says }: Caution['getHelp'][number]): boolean =>
  services.some((service) => says.includes(`{${service}}`));

const dangerFirst = (a: Caution, b: Caution): number =>
  Number(b.tone === 'danger') - Number(a.tone === 'danger');

/** All cautions, danger first, otherwise in the order of the pack. */
export const cautionsInOrder = ({ cautions }: Pick<Knowledge, 'cautions'>): Caution[] =>
  [...cautions.values()].sort(dangerFirst);

/**
 * A caution in short, for drawing before a reply: its lead, the first don't, when to stop and, in danger, whom to call; and
 * the line that stands for it on the front of a reply.
 */
export function cardOf(places: Places, caution: Caution, region: string | null): SafetyCard {
  const fill = filler(places, region);
  const { id, name, tone, short } = caution;
  const lead = fill(caution.lead);
  const [dont] = caution.dont;
  const [stop] = caution.stopWhen;
  const help = caution.getHelp.find(calls) ?? caution.getHelp[0];
  return {
    id,
    name: packText(name),
    tone,
    lead,
    points: [
      ...(dont ? [fill(dont.says)] : []),
      ...(stop ? [say`Stop when: ${fill(stop.says)}`] : []),
      ...(help && tone === 'danger' ? [say`Help: ${fill(help.says)}`] : []),
      say`All of it: ${typed(`/caution ${id}`)}`,
    ],
    ...(mayBeShort(caution) && short !== undefined ? { line: fill(short) } : {}),
  };
}

/** The cautions that fire on any of the hazards, each once, danger first. */
export function cautionsFor(knowledge: Pick<Knowledge, 'cautions'>, hazards: Iterable<Hazard>): Caution[] {
  const wanted = new Set(hazards);
  return cautionsInOrder(knowledge).filter(({ firesOn }) => firesOn.some((hazard) => wanted.has(hazard)));
}

/** Cards of the cautions that fire on any of the hazards, where nothing is known of what was shown before. */
export function cardsFor(
  knowledge: Pick<Knowledge, 'cautions' | 'regions'>,
  hazards: Iterable<Hazard>,
  region: string | null,
): SafetyCard[] {
  return cautionsFor(knowledge, hazards).map((caution) => cardOf(knowledge, caution, region));
}

type CautionPart = (typeof statementParts)[number];
const partWords: Readonly<Record<CautionPart, Message>> = {
  do: say`Do`,
  dont: say`Do not`,
  stopWhen: say`Stop when`,
  getHelp: say`Get help`,
  dispose: say`Dispose`,
};

export interface FullCaution {
  id: string;
  name: Message;
  tone: 'caution' | 'danger';
  lead: Message;
  /** In this order. */
  parts: { part: CautionPart; heading: Message; says: { text: Message; ground: Ground; local: boolean }[] }[];
}

/** Everything that a caution says, filled in for a region. */
export function fullCaution(places: Places, caution: Caution, region: string | null): FullCaution {
  const fill = filler(places, region);
  return {
    id: caution.id,
    name: packText(caution.name),
    tone: caution.tone,
    lead: fill(caution.lead),
    parts: statementParts.map((part) => ({
      part,
      heading: partWords[part],
      says: caution[part].map(({ says, ground }) => ({
        text: fill(says),
        ground,
        local: says === LOCAL_CODES,
      })),
    })),
  };
}
