/** Safety cautions: which ones a step needs, and what they say in a region. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Caution, Ground, Hazard } from '../../knowledge/schema.ts';
import type { Message } from '../language/message.ts';
import { packText, say, typed } from '../language/say.ts';
import { codesOf } from './region.ts';

export const LOCAL_CODES = 'Local codes and licensed practice come first.';
export const localCodes = say`Local codes and licensed practice come first.`;

/** What is drawn before a reply. */
export interface SafetyCard {
  id: string;
  name: Message;
  tone: 'caution' | 'danger';
  lead: Message;
  points: Message[];
}

/** After a cell is suspect, even one that has been isolated, no step may do any of these. */
export const barredWhenCellUnsafe: readonly Hazard[] = [
  'charges',
  'presses',
  'heats',
  'pries',
  'punctures',
  'dissolves',
  'solders',
  'live-supply',
  'laser',
  'uv',
  'cuts',
  'inverted-gas',
  'freezes',
];

/** True when a step with these hazards may still be done after a cell was found unsafe. */
export const allowedWhenCellUnsafe = (hazards: readonly Hazard[]): boolean =>
  !hazards.some((hazard) => barredWhenCellUnsafe.includes(hazard));

type Places = Pick<Knowledge, 'regions'>;

/** The number to call in a region (ISO 3166; null: not set), or "your local emergency number". */
export function emergencyNumber({ regions }: Places, region: string | null): Message {
  const [code] = codesOf(regions, region).filter((one) => regions.emergency[one]);
  const found = code === undefined ? undefined : regions.emergency[code];
  return found ? packText(found.number) : say`your local emergency number`;
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
      emergency: emergencyNumber(places, region),
      dispose: disposalAdvice(places, region),
    });

const dangerFirst = (a: Caution, b: Caution): number =>
  Number(b.tone === 'danger') - Number(a.tone === 'danger');

/** All cautions, danger first, otherwise in the order of the pack. */
export const cautionsInOrder = ({ cautions }: Pick<Knowledge, 'cautions'>): Caution[] =>
  [...cautions.values()].sort(dangerFirst);

/** A caution in short, for drawing before a reply: its lead, the first don't, when to stop and, in danger, whom to call. */
export function cardOf(places: Places, caution: Caution, region: string | null): SafetyCard {
  const fill = filler(places, region);
  const { id, name, tone } = caution;
  const [dont] = caution.dont;
  const [stop] = caution.stopWhen;
  const help = caution.getHelp.find(({ says }) => says.includes('{emergency}')) ?? caution.getHelp[0];
  return {
    id,
    name: packText(name),
    tone,
    lead: fill(caution.lead),
    points: [
      ...(dont ? [fill(dont.says)] : []),
      ...(stop ? [say`Stop when: ${fill(stop.says)}`] : []),
      ...(help && tone === 'danger' ? [say`Help: ${fill(help.says)}`] : []),
      ...(caution.lead.includes(LOCAL_CODES) ? [] : [localCodes]),
      say`All of it: ${typed(`/caution ${id}`)}`,
    ],
  };
}

/**
 * Cards of the cautions that fire on any of the hazards, each once, danger first. The local codes stand on the first, and
 * lesser ones after it keep only their lead and where the rest stands: a long wall is not read.
 */
export function cardsFor(
  knowledge: Pick<Knowledge, 'cautions' | 'regions'>,
  hazards: Iterable<Hazard>,
  region: string | null,
): SafetyCard[] {
  const wanted = new Set(hazards);
  return cautionsInOrder(knowledge)
    .filter(({ firesOn }) => firesOn.some((hazard) => wanted.has(hazard)))
    .map((caution) => cardOf(knowledge, caution, region))
    .map((card, index) => {
      if (index === 0) return card;
      const points = card.points.filter((point) => point !== localCodes);
      return { ...card, points: card.tone === 'danger' ? points : points.slice(-1) };
    });
}

/** Hazards that a phone brings by what it shows, for as long as it is worked on. */
export const hazardsOfSymptoms = (
  { symptoms }: Pick<Knowledge, 'symptoms'>,
  ids: readonly string[],
): Hazard[] => ids.flatMap((id) => symptoms.get(id)?.hazards ?? []);

export const cautionParts = ['do', 'dont', 'stopWhen', 'getHelp', 'dispose'] as const;
export type CautionPart = (typeof cautionParts)[number];
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
    parts: cautionParts.map((part) => ({
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
