/**
 * Walks a phone through everything that the bot may ask of it: each check and remedy that is asked, with every outcome it
 * can have, and looks at each step for what must never be. What counts as a charge, a switching on or a touch is read here
 * from the words of the step as well as from what the pack declares, so that a hazard that was forgotten is found too.
 */

import { fits } from '../../knowledge/features.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import { accessLevels, type Check, type Family, type Remedy, type Symptom } from '../../knowledge/schema.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import { eventsOfAnswer, hazardsOfStep, insteadOf, nextStep } from '../../shared/diagnosis/next-step.ts';
import type { BenchEvent } from '../../shared/diagnosis/sets/bench-belief.ts';
import { setCaseOf } from '../../shared/diagnosis/sets/set-case.ts';
import { economicsOf } from '../../shared/economics/economics.ts';
import type { LoggedPhoneEvent, PhoneEvent } from '../../shared/phone/event.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { cautionsFor } from '../../shared/safety/cautions.ts';
import { actor } from '../actors.ts';

export interface Walked {
  /** States looked at: a phone in some state, with a step that could be asked of it. */
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

/** What a walk remembers of a phone: all that the bars can hang on. */
interface Place {
  events: PhoneEvent[];
  reached: number;
  /** The cleaning was done, or cannot be. */
  cleaned: boolean;
  path: string[];
}

/**
 * Everything that could be asked of a family with these symptoms. In each state of the phone every check and remedy of the
 * family is taken to be the one that pays most, so that no plan, whatever the odds, prices and jobs behind it, can ask
 * for one that was not looked at; then it is held to the phone's state as the bot does it, and answered in every way.
 */
export function walk(knowledge: Knowledge, family: Family, symptoms: readonly string[]): Walked {
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
  const own = [...knowledge.checks.values(), ...knowledge.remedies.values()].filter((step) =>
    fits(family, step),
  );
  const walked: Walked = { states: 0, asked: new Set(), violations: [] };
  const seen = new Set<string>();
  const rest: Place[] = [{ events: [], reached: 0, cleaned: false, path: [] }];
  const cleaningOf = (step: Check | Remedy) => !isCheck(step) && step.cleans;
  for (let here = rest.pop(); here; here = rest.pop()) {
    const { events, reached, cleaned, path } = here;
    const state = phoneStateOf(knowledge, symptoms, logged(events), undefined, reached);
    const marks = state.facts.flatMap(({ fact }) =>
      fact.startsWith('mark') || fact.startsWith('seal') ? [fact] : [],
    );
    const key = [state.danger, state.wet, state.newCell, reached, cleaned, ...new Set(marks)].join(' ');
    if (seen.has(key)) continue;
    seen.add(key);
    const done = cleaned ? own.filter(cleaningOf).map(({ id }): BenchEvent => ({ kind: 'cannot', id })) : [];
    const shown = symptoms.map((id): BenchEvent => ({ kind: 'shown', id }));
    const question = { knowledge, family, events: [...shown, ...done], state, economics };
    const found = setCaseOf(question);
    if (!found) continue;
    const bad = (what: string, step?: Check | Remedy) =>
      walked.violations.push(
        `${family.id}: ${symptoms.join(', ')}; ${[...path, step?.id ?? ''].join(' > ')}: ${what}`,
      );
    if (found.state.danger !== 'none') {
      walked.states += 1;
      if (nextStep(question, found, true).kind !== 'danger') bad('a suspect cell is worked on');
      for (const step of own)
        if (found.barOn(step) === null && !step.hazards.includes('unsafe-cell')) bad('is not barred', step);
      rest.push({ ...here, events: [...events, safe('isolated')], path: [...path, 'isolated'] });
      rest.push({ ...here, events: [...events, safe('new-cell')], path: [...path, 'new cell'] });
      continue;
    }
    for (const wanted of own) {
      walked.states += 1;
      const instead = insteadOf(found, wanted);
      if (instead === 'dry') {
        rest.push({ ...here, events: [...events, safe('cleaned')], path: [...path, 'said to be clean'] });
        continue;
      }
      const step = instead ?? wanted;
      walked.asked.add(step.id);
      for (const what of wrongWith(knowledge, family, state.wet === 'wet', reached, step)) bad(what, step);
      const level = Math.max(reached, accessLevels.indexOf(step.access));
      const outcomes = isCheck(step) ? step.outcomes.map(({ id }) => id) : ['works', 'partly', 'failed'];
      for (const outcome of outcomes) {
        const said = eventsOfAnswer(step, outcome);
        if (said.length || level > reached)
          rest.push({
            events: [...events, ...said],
            reached: level,
            cleaned: cleaned || cleaningOf(step),
            path: [...path, `${step.id}=${outcome}`],
          });
      }
      if (cleaningOf(step)) rest.push({ ...here, cleaned: true, path: [...path, `${step.id} not done`] });
    }
  }
  return walked;
}

const safe = (step: 'isolated' | 'new-cell' | 'cleaned'): PhoneEvent => ({ kind: 'safety', step, who: '' });

/** What must never be said of a step that is asked. */
function wrongWith(
  knowledge: Knowledge,
  family: Family,
  wet: boolean,
  reached: number,
  step: Check | Remedy,
): string[] {
  const hazards = hazardsOfStep(family, reached, step);
  const cleans = !isCheck(step) && step.cleans;
  const cards = cautionsFor(knowledge, hazards);
  // What closing the phone asks for comes after a cleaning, when it is dry.
  const before = cleans ? step.hazards : hazards;
  return [
    ...(wet && before.some((hazard) => hazard === 'charges' || hazard === 'live-supply')
      ? ['a wet phone gets current']
      : []),
    ...(wet && step.powers ? ['a wet phone is switched on'] : []),
    ...(wet && !isCheck(step) && !cleans
      ? ['a wet phone is switched on to see whether a remedy worked']
      : []),
    ...(wet && !cleans && CURRENT.test(wordsOf(step)) ? ['its words put current through a wet phone'] : []),
    ...hazards.flatMap((hazard) =>
      cards.some(({ firesOn }) => firesOn.includes(hazard)) ? [] : [`no caution before ${hazard}`],
    ),
  ];
}

/** Every pair of a family and a symptom that it can show. */
export const pairsOf = ({ families, symptoms }: Knowledge): { family: Family; symptom: Symptom }[] =>
  [...families.values()].flatMap((family) =>
    [...symptoms.values()].filter((symptom) => fits(family, symptom)).map((symptom) => ({ family, symptom })),
  );
