import type { Message } from '../../shared/language/message.ts';
import { joined, listWords, orList, packText, plain, say } from '../../shared/language/say.ts';
import type { Appraisal, DependsOn } from '../../shared/worth/appraise.ts';
import type { Way, WayResult } from '../../shared/worth/verdict.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, onBack, text } from '../framework/reply.ts';
import { wayWords } from '../shared/way-words.ts';
import { percent } from '../shared/words.ts';

import { highestOf, type WorthQuestion } from './worth-question.ts';

export const toDo: Record<Way, Message> = {
  restore: say`to restore it`,
  'look-first': say`to take it and look first`,
  strip: say`to take it for parts`,
  'sell-as-is': say`to sell it on as it is`,
  'hand-on': say`to hand it to someone qualified first`,
  pass: say`to pass`,
};
const bought: Record<Exclude<Way, 'pass'>, (at: Message) => Message> = {
  restore: (at) => say`buy it at ${at} and restore it`,
  'look-first': (at) => say`buy it at ${at} and look first`,
  strip: (at) => say`buy it for parts at ${at}`,
  'sell-as-is': (at) => say`buy it at ${at} and sell it as it is`,
  'hand-on': (at) => say`buy it at ${at} and hand it to someone qualified first`,
};
const taken: Record<Exclude<Way, 'pass'>, Message> = {
  restore: say`take it and restore it`,
  'look-first': say`take it and look first`,
  strip: say`take it for parts`,
  'sell-as-is': say`take it and sell it as it is`,
  'hand-on': say`take it and hand it to someone qualified first`,
};
/** What the answer hangs on, and what its two ends are. */
const dependsWords: Record<DependsOn, { on: Message; from: Message; to: Message }> = {
  value: { on: say`what it sells for`, from: say`its low end`, to: say`its high end` },
  parts: { on: say`the price of parts`, from: say`half as much again`, to: say`a third less` },
  time: { on: say`bench time`, from: say`half as much again`, to: say`half` },
};

/** So much is told of the points at which money is put in. */
const MOST_GATES = 3;
/** Less than this share of the belief is not named. */
export const LEAST_ODDS = 0.05;

export type Show = (sum: number) => Message;

export function headline({ result, phone }: WorthQuestion, show: Show): Message {
  const { verdict, price, works, best } = result;
  const highest = highestOf(result);
  if (verdict === null) return say`${phone.name}: no verdict yet, no price is known for it`;
  if (verdict === 'pass') {
    const most =
      highest === null || !best
        ? say`no price is worth paying`
        : say`up to ${show(highest)} it is worth it ${toDo[turnsTo(result)]}`;
    return plain`${phone.name}: ${price > 0 ? say`pass at ${show(price)}` : say`pass, even as a gift`} (${most})`;
  }
  const words = works ? say`it works` : price > 0 ? bought[verdict](show(price)) : taken[verdict];
  return plain`${phone.name}: ${words} (${say`worth up to ${show(highest ?? 0)}`})`;
}

/** Where the advice is to pass: the way whose highest price is told. */
const turnsTo = ({ ways: all, answer }: Appraisal): Way =>
  all.find(({ highest }) => highest !== null && answer.kind === 'advice' && highest === answer.highest)
    ?.way ?? 'pass';

/** Why, in a sentence or two. */
export function reason({ result }: WorthQuestion, context: Context, show: Show): Message {
  const { verdict, best, stance, price } = result;
  if (verdict === null) {
    return say`To judge it, one of these is needed: what it sells for when working (value:), a price seen (/prices add), or its price when new (/family name). The table stands on a guess.`;
  }
  if (!best) return say`There is nothing to be done with it here.`;
  if (verdict !== 'pass') {
    return best.cash > 0 || best.minutes > 0
      ? say`Expected to leave ${show(best.mean)}, after ${show(best.cash)} for parts and ${Math.round(best.minutes)} min.`
      : say`Expected to leave ${show(best.mean)}, with nothing to be done to it.`;
  }
  const way = wayWords[best.way];
  if (best.mean <= 0)
    return best.minutes * stance.rate > 60 * Math.max(0, best.cash + price)
      ? say`Best of the rest is “${way}”, and it is expected to leave ${show(best.mean)}: most of it is ${Math.round(best.minutes)} min of your time.`
      : say`Best of the rest is “${way}”, and it is expected to leave ${show(best.mean)}.`;
  if (best.after <= 0)
    return say`“${way}” is expected to leave ${show(best.mean)}, less than the margin of ${percent(context.collective.settings.margin)} that you want.`;
  return say`“${way}” is expected to leave ${show(best.mean)}, but one time in ten you would be out ${show(best.atRisk.total)}, more than the ${show(stance.bearable)} that you bear on one phone (/setup bear:).`;
}

/** The worst tenth in plain words. */
export function risk({ atRisk: { total, net }, loss }: WayResult, show: Show): Message {
  if (total <= 0) return say`Even when it goes badly, one time in ten, ${show(net)} is left.`;
  return joined([
    say`One time in ten you are out ${show(total)}.`,
    say`Chance of any loss: ${percent(loss)}.`,
  ]);
}

/** What the worst tenth is made of. */
export function riskParts({ price }: Appraisal, { atRisk }: WayResult, show: Show): DraftBlock[] {
  const { total, parts, takings, minutes } = atRisk;
  if (total <= 0) return [];
  const of = [
    ...(price > 0 ? [say`${show(price)} for the phone`] : []),
    ...(parts >= 0.5 ? [say`${show(parts)} in parts`] : []),
    ...(minutes >= 0.5 ? [say`${Math.round(minutes)} min of work`] : []),
  ];
  const less = takings >= 0.5 ? say`less ${show(takings)} that comes in` : '';
  if (!of.length) return [];
  const words = less ? joined([listWords(of), less], ', ') : listWords(of);
  return onBack(text(say`One time in ten you are out ${show(total)}: ${words}.`));
}

const stepName = ({ knowledge }: Context, id: string): Message =>
  id === 'service'
    ? say`the service`
    : packText((knowledge.remedies.get(id) ?? knowledge.checks.get(id))?.name ?? id);

/** What is learnt before each time money is put in, and what is at stake there. */
export function gateLines({ gates }: WayResult, context: Context, show: Show): Message[] {
  return gates
    .slice(0, MOST_GATES)
    .map(({ number, chance: reached, minutesBefore, cash, restored, steps: likely }) => {
      const names = orList(likely.slice(0, 2).map(({ id }) => plain`“${stepName(context, id)}”`));
      const before = Math.round(minutesBefore);
      const works = restored < LEAST_ODDS ? '' : say`It then works in ${percent(restored)}.`;
      return joined([
        number === 1
          ? say`${before} min and no money first. It comes to ${names} in ${percent(reached)}: ${show(cash)}. Else stop there.`
          : say`Then, in ${percent(reached)}, ${names}: ${show(cash)} more.`,
        ...(works ? [works] : []),
      ]);
    });
}

/** A component that is known to be broken, and what the plan would mend it with. */
export function damageInWords(component: string, { ways: all }: Appraisal, { knowledge }: Context): Message {
  const name = packText(knowledge.components.get(component)?.name ?? component);
  const spent = all.flatMap(({ gates }) => gates.flatMap((gate) => gate.steps));
  const remedy = spent
    .flatMap(({ id }) => knowledge.remedies.get(id) ?? [])
    .find(({ parts }) => parts.some((part) => part.component === component));
  return remedy ? plain`${name} (${packText(remedy.name)})` : name;
}

export const dependsInWords = ({ on, low, high }: Appraisal['depends'][number], show: Show): Message => {
  const words = dependsWords[on];
  return say`${words.on}: ${show(low)} (${words.from}) to ${show(high)} (${words.to})`;
};
