/** What happens to the state of a phone: events, only ever added; one that was a mistake is withdrawn and stays to be read. */
import { z } from 'zod';
import { seenFacts } from '../../knowledge/schema.ts';
import type { Actor } from '../people/actor.ts';

/** `unsafe`: swollen, hot, leaking or hurt, said in one tap without saying which. */
export const saidFacts = [...seenFacts, 'unsafe'] as const;
export type SaidFact = (typeof saidFacts)[number];

/**
 * How a fact came to be known: a symptom that was named, an outcome of a check, a person who said so, words of danger in a
 * text, or odds that were high enough to count as a suspicion.
 */
const factGrounds = ['symptom', 'outcome', 'said', 'words', 'odds'] as const;
export type FactGround = (typeof factGrounds)[number];

/**
 * `isolated`: the cell, or the whole phone, is set apart. `handed-over`: it went to whoever deals with such cells.
 * `new-cell`: someone qualified fitted another cell. `cleaned`: it was cleaned inside and is dry.
 */
export const safetySteps = ['isolated', 'handed-over', 'new-cell', 'cleaned'] as const;
export type SafetyStep = (typeof safetySteps)[number];

/**
 * What was said of a phone on the bench besides its facts: a symptom that it shows, or does not where it would be seen; a
 * component known to be good; how far it lies open; what a check or a reading gave.
 */
const toldKinds = ['shown', 'denied', 'good', 'reached', 'check'] as const;

export const phoneEventSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('fact'),
    fact: z.enum(saidFacts),
    ground: z.enum(factGrounds),
    /** The id of the symptom, of the check, or the words that were found; empty where there are none. */
    ref: z.string(),
  }),
  z.object({
    kind: z.literal('safety'),
    step: z.enum(safetySteps),
    /** Who did it, where that is somebody else: the service that fitted the cell, who took it. */
    who: z.string(),
  }),
  /** Of a job that had no open trace; in a trace it is a step of it. */
  z.object({
    kind: z.literal('told'),
    what: z.enum(toldKinds),
    /** Id of the symptom, component or check, or the access level. */
    id: z.string(),
    /** Of a check. */
    outcome: z.string().nullable(),
    /** The newest trace that its job had by then. */
    after: z.number().int().nullable(),
  }),
]);
export type PhoneEvent = z.infer<typeof phoneEventSchema>;

export interface LoggedPhoneEvent {
  /** From 1 within its job or trace. */
  seq: number;
  event: PhoneEvent;
  by: Actor;
  at: Date;
  withdrawn: { by: Actor; at: Date; why: string } | null;
}
