/** The law on pairing where the collective is. */
import type { z } from 'zod';
import type { Law } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { joined, packText, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { type LawHint, lawFor } from '../../shared/pairing/law.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, steps } from '../framework/reply.ts';

import type { lawDataSchema } from './paired-data.ts';

/** Beyond the law on pairing itself, what bears on swapping one kind of component. */
const alsoBearsOn: Readonly<Record<string, Law['topic']>> = { battery: 'battery', mainboard: 'identity' };

export type LawNote = Law & Pick<z.infer<typeof lawDataSchema>, 'status'>;
export const lawDataOf = ({
  id,
  topic,
  from,
  until,
  ground,
  status,
}: LawNote): z.infer<typeof lawDataSchema> => ({
  id,
  topic,
  from,
  until,
  ground,
  status,
});
export function lawNotes({ knowledge, collective, now }: Context, component: string | null) {
  const { region, zone } = collective.settings;
  const also = component === null ? undefined : alsoBearsOn[component];
  const onPairing: Law['topic'][] = ['pairing', 'none-found'];
  // Without a component, all that the pack has on repair there, that on pairing first.
  const topics =
    component === null
      ? [...new Set([...onPairing, ...knowledge.laws.map(({ topic }) => topic)])]
      : [...onPairing, ...(also ? [also] : [])];
  const found = topics.map((topic) => lawFor(knowledge, region, now, topic, zone));
  const laws = found.flatMap(({ inForce, toCome, undated }): LawNote[] => [
    ...inForce.map((law) => ({ ...law, status: 'in-force' as const })),
    ...toCome.map((law) => ({ ...law, status: 'to-come' as const })),
    ...undated.map((law) => ({ ...law, status: 'undated' as const })),
  ]);
  return { laws, hint: found[0]?.hint ?? null };
}

const since = ({ status, from }: LawNote): Message =>
  status === 'in-force'
    ? say`In force since ${verbatim(from ?? '')}`
    : status === 'to-come'
      ? say`NOT YET IN FORCE: from ${verbatim(from ?? '')}`
      : say`First day not in this pack`;

const hintWords = (hint: LawHint): Message =>
  hint.set === 'region'
    ? say`The law depends on the place. A steward sets it: /setup region:DE, or region:US-OR.`
    : say`The law differs within ${typed(hint.region)}: set the state, such as ${typed(`/setup region:${hint.example}`)}.`;

/** The law, each with its day; of the topics given also what it says and does not reach, of others the title. */
export function lawBlocks(
  laws: readonly LawNote[],
  hint: LawHint | null,
  region: string | null,
  full: readonly Law['topic'][] | 'all',
): DraftBlock[] {
  const lines = laws.map((law) => {
    const short = [
      plain`${packText(law.title)}.`,
      ...(law.topic === 'none-found' ? [] : [plain`${since(law)}.`]),
    ];
    if (full !== 'all' && !full.includes(law.topic)) return joined(short);
    return joined([
      ...short,
      ...law.says.map((one) => packText(one)),
      ...law.limits.map((limit) => say`Limit: ${packText(limit)}`),
    ]);
  });
  const none = say`No law on pairing for ${typed(region ?? '')} is in this pack; that is no proof that there is none.`;
  const heading = region === null ? say`The law` : say`The law in ${typed(region ?? '')}`;
  const onPairing = laws.some(({ topic }) => topic === 'pairing' || topic === 'none-found');
  const says = [
    ...lines,
    ...(region !== null && !onPairing ? [none] : []),
    ...(hint ? [hintWords(hint)] : []),
  ];
  return says.length ? [steps(says, heading, false)] : [];
}
