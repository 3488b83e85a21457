/**
 * Walks a phone through everything that the bot may ask of it: each check and remedy that is asked, with every outcome it
 * can have, and looks at each step for what must never be. What counts as a charge, a switching on or a touch is read here
 * from the words of the step as well as from what the pack declares, so that a hazard that was forgotten is found too.
 */

import { fits } from '../../knowledge/features.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Check, Family, Remedy, Symptom } from '../../knowledge/schema.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import { eventsOfAnswer, hazardsOfStep, nextStep } from '../../shared/diagnosis/next-step.ts';
import type { BenchEvent } from '../../shared/diagnosis/sets/bench-belief.ts';
import { setCaseOf } from '../../shared/diagnosis/sets/set-case.ts';
import { economicsOf } from '../../shared/economics/economics.ts';
import type { LoggedPhoneEvent, PhoneEvent } from '../../shared/phone/event.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { cautionsFor } from '../../shared/safety/cautions.ts';
import { actor } from '../actors.ts';

export interface Walked {
  /** States looked at: a phone after some answers, with the step that is asked of it. */
  states: number;
  /** Steps that were seen asked, by id. */
  asked: Set<string>;
  violations: string[];
}

const wordsOf = (step: Check | Remedy): string =>
  ('outcomes' in step ? [step.name, step.ask] : [step.name, ...step.steps]).join(' ');
/** Words that put current through a phone or switch it on; said of what is to be done, not of what is not. */
const CURRENT =
  /\b(?:charge it|put it on a (?:known-good )?charger|switch it on|power it|bench supply|forced restart|restart it|ring it)\b/i;

const isCheck = (step: Check | Remedy): step is Check => 'outcomes' in step;
const at = new Date('2026-03-02T09:00:00Z');
const logged = (events: readonly PhoneEvent[]): LoggedPhoneEvent[] =>
  events.map((event, seq) => ({ seq, event, by: actor('Ines'), at, withdrawn: null }));

/** Everything that may be asked of a family with these symptoms. `most`: states looked at before it gives up. */
export function walk(
  knowledge: Knowledge,
  family: Family,
  symptoms: readonly string[],
  most = Number.POSITIVE_INFINITY,
): Walked {
  const economics = economicsOf({
    knowledge,
    family,
    settings: { ...defaultSettings, hourlyRate: 30 },
    sightings: [],
    parts: [],
    grade: 0,
    value: 180,
    now: at,
  });
  const walked: Walked = { states: 0, asked: new Set(), violations: [] };
  const seen = new Set<string>();
  const rest: { evidence: BenchEvent[]; events: PhoneEvent[]; path: string[] }[] = [
    { evidence: symptoms.map((id) => ({ kind: 'shown', id })), events: [], path: [] },
  ];
  for (let here = rest.pop(); here && walked.states < most; here = rest.pop()) {
    const { evidence, events, path } = here;
    const state = phoneStateOf(knowledge, symptoms, logged(events));
    const question = { knowledge, family, events: evidence, state, economics };
    const found = setCaseOf(question);
    if (!found) continue;
    const next = nextStep(question, found, true);
    const step = next.kind === 'check' ? next.check : next.kind === 'remedy' ? next.remedy : null;
    const key = [next.kind, step?.id, state.danger, state.wet, state.newCell, found.reached].join(' ');
    // The same step asked of a phone in the same state opens the same ways: it is gone on from once.
    if (seen.has(key)) continue;
    seen.add(key);
    walked.states += 1;
    const bad = (what: string) =>
      walked.violations.push(
        `${family.id}: ${symptoms.join(', ')}; ${[...path, step?.id ?? next.kind].join(' > ')}: ${what}`,
      );
    if (found.state.danger !== 'none' && next.kind !== 'danger') bad('a suspect cell is worked on');
    if (next.kind === 'danger') {
      if (found.state.danger === 'none') bad('danger without a fact or odds');
      if (state.danger !== 'none' && !state.newCell)
        rest.push({
          evidence,
          events: [...events, { kind: 'safety', step: 'new-cell', who: 'a service' }],
          path: [...path, 'new cell'],
        });
      continue;
    }
    if (next.kind === 'dry')
      rest.push({
        evidence,
        events: [...events, { kind: 'safety', step: 'cleaned', who: '' }],
        path: [...path, 'cleaned'],
      });
    if (!step) continue;
    walked.asked.add(step.id);
    const hazards = hazardsOfStep(family, found.reached, step);
    if (state.wet === 'wet') {
      if (hazards.some((hazard) => hazard === 'charges' || hazard === 'live-supply'))
        bad('a wet phone gets current');
      if (step.powers) bad('a wet phone is switched on');
      if (!isCheck(step) && !step.cleans) bad('a wet phone is switched on to see whether a remedy worked');
      if (CURRENT.test(wordsOf(step)) && !(!isCheck(step) && step.cleans))
        bad('its words put current through a wet phone');
    }
    for (const hazard of hazards) {
      if (!cautionsFor(knowledge, hazards).some(({ firesOn }) => firesOn.includes(hazard)))
        bad(`no caution before ${hazard}`);
    }
    const answers: { evidence: BenchEvent; outcome: string }[] = isCheck(step)
      ? step.outcomes.map(({ id }) => ({
          evidence: { kind: 'check', id: step.id, outcome: id },
          outcome: id,
        }))
      : [
          {
            evidence: { kind: 'remedy', id: step.id, gone: [], left: found.open.map(({ ref }) => ref) },
            outcome: 'failed',
          },
          // One of several things is mended, and the work goes on.
          ...(found.open.length > 1
            ? [
                {
                  evidence: {
                    kind: 'remedy' as const,
                    id: step.id,
                    gone: found.open.slice(0, 1).map(({ ref }) => ref),
                    left: found.open.slice(1).map(({ ref }) => ref),
                  },
                  outcome: 'partly',
                },
              ]
            : []),
        ];
    for (const { evidence: answer, outcome } of answers)
      rest.push({
        evidence: [...evidence, answer],
        events: [...events, ...eventsOfAnswer(step, outcome)],
        path: [...path, `${step.id}=${outcome}`],
      });
    rest.push({
      evidence: [...evidence, { kind: 'cannot', id: step.id }],
      events,
      path: [...path, `${step.id} not done`],
    });
  }
  return walked;
}

/** Every pair of a family and a symptom that it can show. */
export const pairsOf = ({ families, symptoms }: Knowledge): { family: Family; symptom: Symptom }[] =>
  [...families.values()].flatMap((family) =>
    [...symptoms.values()].filter((symptom) => fits(family, symptom)).map((symptom) => ({ family, symptom })),
  );
