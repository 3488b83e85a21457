/** A phone comes in: its job, with what is promised of it. */
import type { Imei } from '../../shared/imei/imei.ts';
import type { Came, JobRecord } from '../../shared/jobs/job.ts';
import { fromMajor, type Money, toMajor } from '../../shared/money/money.ts';
import { eventsOfSymptoms } from '../../shared/phone/intake.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { type AppraisedPhone, appraisePhone } from './appraise-phone.ts';
import type { Phone } from './phone.ts';
import { addPhoneEvents, subjectOfJob } from './phone-state.ts';
import { eventsOfFound, type SaidBesides, stateOfSaid, toldEvents, toldOfJob } from './said-besides.ts';

export interface PhoneIn extends SaidBesides {
  phone: Phone;
  came: Came;
  /** Nothing where it was not bought. */
  price?: Money | undefined;
  /** 2 (mint) to -2 (poor). */
  grade: number;
  symptoms: readonly string[];
  imei?: Imei | undefined;
  /** What was said besides is kept with the job; false where a trace of it keeps it. */
  tell: boolean;
  /** As it was said; kept in the log. */
  words?: string | undefined;
}

export function openJob(
  context: Context,
  given: PhoneIn,
): { job: JobRecord; found: AppraisedPhone['found'] } {
  const { store, now, collective, knowledge } = context;
  const { phone, came, price, grade, imei, words } = given;
  const { currency } = collective.settings;
  const symptoms = [...new Set(given.symptoms)];
  const paid = price ?? fromMajor(0, currency);
  const { result, found } = appraisePhone(context, phone, {
    price: toMajor(paid),
    grade,
    symptoms,
    events: toldEvents(context, phone.family, given),
    state: stateOfSaid(context, phone.family, symptoms, given),
    damage: given.damage,
  });
  const { best } = result;
  const sum = (value: number | undefined) => fromMajor(value ?? 0, currency);
  const job = store.jobs.open({
    model: phone.model?.id ?? null,
    family: phone.family.id,
    came,
    price: paid,
    grade,
    symptoms,
    imei: imei?.digits ?? null,
    promise: {
      verdict: result.verdict,
      mean: sum(best?.mean),
      low: sum(best?.low),
      high: sum(best?.high),
      minutes: best?.minutes ?? 0,
      chanceRestored: best?.restored ?? 0,
      odds: Object.fromEntries(
        found.belief.odds.flatMap(({ fault, share }) => (share >= 0.001 ? [[fault.id, share]] : [])),
      ),
    },
    openedBy: actorOf(context),
    at: now,
  });
  if (imei) store.tacs.learn(imei.tac, phone.family.id, phone.model?.id ?? null, now);
  if (words) store.jobs.add(job.number, [{ kind: 'said', text: words }], { by: actorOf(context), at: now });
  addPhoneEvents(context, subjectOfJob(job), [
    ...eventsOfSymptoms(knowledge, symptoms),
    ...(given.tell ? toldOfJob(context, phone.family, given) : []),
    ...eventsOfFound(context, phone.family, given.found),
  ]);
  return { job: store.jobs.get(job.number) ?? job, found };
}
