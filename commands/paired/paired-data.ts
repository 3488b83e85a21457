/** What `/paired` answers besides words. */
import { z } from 'zod';
import { groundSchema, pairingEffects } from '../../knowledge/schema.ts';
import type { PairingOf } from '../../shared/pairing/pairing.ts';

export const lawDataSchema = z.object({
  id: z.string(),
  topic: z.string(),
  from: z.iso.date().nullable(),
  until: z.iso.date().nullable(),
  ground: groundSchema,
  status: z.enum(['in-force', 'to-come', 'undated']),
});
const statementData = z.object({
  id: z.string(),
  effect: z.enum(pairingEffects),
  travels: z.boolean(),
  likely: z.number(),
  strength: z.number(),
  ground: groundSchema,
});
const effect = z.enum(pairingEffects).nullable();
const about = {
  of: z.object({ id: z.string(), family: z.string() }),
  region: z.string().nullable(),
  law: z.array(lawDataSchema),
  /** What has to be set for a fuller answer. */
  lawHint: z.enum(['region', 'state']).nullable(),
};

export const pairedDataSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('component'),
    ...about,
    component: z.string(),
    effect,
    worst: effect,
    travels: z.boolean().nullable(),
    /** Empty where the pack has no statement. */
    statements: z.array(statementData),
    handlingGround: groundSchema,
    lessons: z.array(z.object({ id: z.string(), ground: groundSchema })),
    /** Pack and swap reports together: the pack's own chance (null without a statement), what was seen, and both. */
    counted: z.array(
      z.object({
        effect: z.enum(pairingEffects),
        pack: z.number().nullable(),
        seen: z.number(),
        tried: z.number(),
        chance: z.number(),
        conflict: z.boolean(),
      }),
    ),
    reports: z.array(
      z.object({ number: z.number(), effect: z.enum(pairingEffects), by: z.string(), day: z.iso.date() }),
    ),
  }),
  z.object({
    kind: z.literal('table'),
    ...about,
    rows: z.array(
      z.object({
        component: z.string(),
        effect,
        worst: effect,
        travels: z.boolean().nullable(),
        statements: z.array(statementData),
      }),
    ),
  }),
]);
export type PairedData = z.infer<typeof pairedDataSchema>;

export const statementsData = ({ statements }: PairingOf): z.infer<typeof statementData>[] =>
  statements.map(({ id, effect: which, travels, likely, strength, ground }) => ({
    id,
    effect: which,
    travels,
    likely,
    strength,
    ground,
  }));
