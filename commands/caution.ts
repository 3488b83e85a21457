import { z } from 'zod';
import { groundSchema } from '../knowledge/schema.ts';
import { statementParts } from '../knowledge/translation.ts';
import type { Message } from '../shared/language/message.ts';
import { joined, plain, say, typed } from '../shared/language/say.ts';
import { cautionsInOrder, fullCaution } from '../shared/safety/cautions.ts';
import { defineSimpleCommand } from './framework/command.ts';
import { lookupOption, optional } from './framework/option.ts';
import { type DraftBlock, reply, steps, text } from './framework/reply.ts';
import { cautions } from './shared/lookups.ts';
import { sourcesOf } from './shared/words.ts';

const tone = z.enum(['caution', 'danger']);

export const cautionDataSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('list'), cautions: z.array(z.object({ id: z.string(), tone })) }),
  z.object({
    kind: z.literal('caution'),
    id: z.string(),
    tone,
    /** The ground of each statement, in the order in which they are said. */
    parts: z.array(z.object({ part: z.enum(statementParts), grounds: z.array(groundSchema) })),
    region: z.string().nullable(),
  }),
]);
type CautionData = z.infer<typeof cautionDataSchema>;

const marks = { practice: typed('*'), memory: typed('**') } as const;

export const caution = defineSimpleCommand({
  name: 'caution',
  summary: say`Post a safety caution, or list them all`,
  options: {
    name: optional(
      lookupOption({
        lookup: cautions,
        summary: say`Which caution; all are listed without it`,
        example: 'heat',
      }),
    ),
  },
  examples: ['/caution swollen-cell', '/caution'],

  data: cautionDataSchema,
  run({ name }, { knowledge, collective }) {
    const { region } = collective.settings;
    const one = name && knowledge.cautions.get(name.id);
    if (!one) {
      const all = cautionsInOrder(knowledge).map((each) => fullCaution(knowledge, each, region));
      const group = (wanted: 'caution' | 'danger', heading: Message): DraftBlock =>
        steps(
          all.filter((each) => each.tone === wanted).map((each) => plain`${each.name}: ${each.lead}`),
          heading,
          false,
        );
      const data: CautionData = {
        kind: 'list',
        cautions: all.map(({ id, tone: how }) => ({ id, tone: how })),
      };
      return reply({
        title: say`${all.length} cautions`,
        tone: 'caution',
        blocks: [
          group('danger', say`Danger`),
          group('caution', say`Caution`),
          text(say`Post one: /caution and its name, such as /caution swollen-cell.`),
        ],
        data,
      });
    }
    const full = fullCaution(knowledge, one, region);
    const grounds = full.parts.flatMap(({ says }) => says.map(({ ground }) => ground));
    const sources = sourcesOf(knowledge, grounds);
    const notes = [
      ...(grounds.includes('practice') ? [say`* common practice, no source.`] : []),
      ...(grounds.includes('memory') ? [say`** from memory, not read again.`] : []),
      ...(sources.length ? [say`The other lines rest on the sources named.`] : []),
      ...(region === null ? [say`The emergency number and disposal follow the place: /setup region:…`] : []),
    ];
    const data: CautionData = {
      kind: 'caution',
      id: full.id,
      tone: full.tone,
      parts: full.parts.map(({ part, says }) => ({ part, grounds: says.map(({ ground }) => ground) })),
      region,
    };
    return reply({
      title: full.name,
      tone: full.tone,
      blocks: [
        text(full.lead),
        ...full.parts.map(({ heading, says }) =>
          steps(
            says.map((each) =>
              typeof each.ground === 'string' && !each.local
                ? joined([each.text, marks[each.ground]])
                : each.text,
            ),
            heading,
            false,
          ),
        ),
        text(joined(notes)),
      ],
      sources,
      data,
    });
  },
});
