import { z } from 'zod';
import { groundSchema } from '../knowledge/schema.ts';
import { say } from '../shared/language/say.ts';
import { cautionsInOrder, fullCaution, LOCAL_CODES } from '../shared/safety/cautions.ts';
import { defineSimpleCommand } from './framework/command.ts';
import { lookupOption, optional } from './framework/option.ts';
import { type Block, reply, steps, text } from './framework/reply.ts';
import { cautions } from './shared/lookups.ts';
import { sourcesOf } from './shared/words.ts';

const tone = z.enum(['caution', 'danger']);

export const cautionDataSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('list'),
    cautions: z.array(z.object({ id: z.string(), name: z.string(), tone, lead: z.string() })),
  }),
  z.object({
    kind: z.literal('caution'),
    id: z.string(),
    name: z.string(),
    tone,
    lead: z.string(),
    parts: z.array(
      z.object({
        heading: z.string(),
        says: z.array(z.object({ text: z.string(), ground: groundSchema })),
      }),
    ),
    region: z.string().nullable(),
  }),
]);
export type CautionData = z.infer<typeof cautionDataSchema>;

const marks = { practice: ' *', memory: ' **' } as const;

export const caution = defineSimpleCommand({
  name: 'caution',
  summary: 'Post a safety caution, or list them all',
  options: {
    name: optional(
      lookupOption({
        lookup: cautions,
        summary: 'Which caution; all are listed without it',
        example: 'heat',
      }),
    ),
  },
  examples: ['/caution swollen-cell', '/caution'],
  run({ name }, { knowledge, collective }) {
    const { region } = collective.settings;
    const one = name && knowledge.cautions.get(name.id);
    if (!one) {
      const all = cautionsInOrder(knowledge).map((each) => fullCaution(knowledge, each, region));
      const group = (wanted: 'caution' | 'danger', heading: string): Block =>
        steps(
          all.filter((each) => each.tone === wanted).map((each) => `${each.name}: ${each.lead}`),
          heading,
          false,
        );
      const data: CautionData = {
        kind: 'list',
        cautions: all.map(({ id, name: called, tone: how, lead }) => ({ id, name: called, tone: how, lead })),
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
    const data: CautionData = { kind: 'caution', ...full, region };
    return reply({
      title: full.name,
      tone: full.tone,
      blocks: [
        text(full.lead),
        ...full.parts.map(({ heading, says }) =>
          steps(
            says.map((each) =>
              typeof each.ground === 'string' && each.text !== LOCAL_CODES
                ? `${each.text}${marks[each.ground]}`
                : each.text,
            ),
            heading,
            false,
          ),
        ),
        text(notes.join(' ')),
      ],
      sources,
      data,
    });
  },
});
