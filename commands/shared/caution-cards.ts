/** The cautions of a reply: new once for each phone and person; danger and liquid always. */
import type { Caution, Hazard } from '../../knowledge/schema.ts';
import { isHot, type PhoneState } from '../../shared/phone/state.ts';
import { cardOf, cautionsFor } from '../../shared/safety/cautions.ts';
import { freshOrSaid } from '../../shared/safety/repetition.ts';
import type { PhoneSubject } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { HOT_CELL, SWOLLEN_CELL } from '../framework/danger-words.ts';
import type { DraftCard } from '../framework/reply.ts';

/** Each once, by its id, where it came first. */
export const withoutDoubles = <T extends { id: string }>(all: readonly T[]): T[] =>
  all.filter(({ id }, at) => all.findIndex((one) => one.id === id) === at);

const cardOfId = ({ knowledge, collective }: Context, id: string): DraftCard[] => {
  const caution = knowledge.cautions.get(id);
  return caution ? [cardOf(knowledge, caution, collective.settings.region)] : [];
};

/** What a phone in this state brings before every reply about it; never shortened. */
export function cardsOfState(context: Context, state: PhoneState): DraftCard[] {
  const { knowledge, collective } = context;
  const wet = state.wet === 'wet' ? cautionsFor(knowledge, ['wet']) : [];
  return [
    ...(state.danger === 'none' ? [] : cardOfId(context, isHot(state) ? HOT_CELL : SWOLLEN_CELL)),
    ...wet.map((caution) => cardOf(knowledge, caution, collective.settings.region)),
  ];
}

/**
 * The cards of what is about to be done to a phone: those of its state, then those of the hazards, first those that this
 * person has not had for this phone. What is said is remembered.
 */
export function cardsForPhone(
  context: Context,
  subject: PhoneSubject,
  state: PhoneState,
  hazards: Iterable<Hazard>,
): DraftCard[] {
  const { knowledge, collective, store, person, now } = context;
  const { region } = collective.settings;
  const first = cardsOfState(context, state);
  const rest = cautionsFor(knowledge, hazards).filter(({ id }) => !first.some((card) => card.id === id));
  const { fresh, said } = freshOrSaid(rest, store.cautionsShown.list(subject, person.key), now);
  store.cautionsShown.save(
    subject,
    person.key,
    fresh.map(({ id }) => id),
    now,
  );
  const card = (caution: Caution) => cardOf(knowledge, caution, region);
  return [...first, ...fresh.map(card), ...said.map((caution) => ({ ...card(caution), brief: true }))];
}
