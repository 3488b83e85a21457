/**
 * Lines of caution on three typical jobs, walked to their end by the shown advice: as they are said, whole once and then in a
 * line, beside every card whole at every step. First exposures are all kept: the bench throws where one is not.
 */
import type { Reply } from '../../commands/framework/reply.ts';
import { traceData } from '../../commands/trace/trace-data.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { cardOf } from '../../shared/safety/cautions.ts';
import { testBot } from '../test-bot.ts';

const JOBS = [
  { name: 'cell', symptoms: 'dead', found: ['battery-open', 'battery-worn'] },
  { name: 'display', symptoms: 'cracked-glass, lines-or-spots', found: ['display-cracked'] },
  { name: 'port', symptoms: 'no-charge', found: ['port-worn', 'port-board-failed'] },
] as const;
const PHONE = 'glued-front-home-sensor';

/** Its heading, what leads, and its points. */
const linesOf = ({ points }: { points: readonly unknown[] }) => 2 + points.length;

/** Lines as said and as they would be with every card whole, on one job walked by the likeliest answers of its fault. */
function walked(symptoms: string, fault: readonly string[]): { said: number; whole: number } {
  const knowledge = loadKnowledge();
  const tin = testBot({ knowledge });
  const met = new Set<string>();
  const total = { said: 0, whole: 0 };
  const count = ({ cautions }: Reply) => {
    for (const card of cautions) {
      const caution = knowledge.cautions.get(card.id);
      if (!caution) throw new Error(`no caution ${card.id}`);
      if (card.brief && !met.has(card.id) && cautions.filter(({ brief }) => !brief).length < 3)
        throw new Error(`${card.id} is shortened before it was said whole`);
      if (!card.brief) met.add(card.id);
      total.said += card.brief ? 1 : linesOf(card);
      total.whole += linesOf(cardOf(knowledge, caution, 'AU'));
    }
  };
  let reply = tin.say(`/trace "${symptoms}" model:${PHONE}`, { role: 'member' });
  count(reply);
  for (let turn = 0; turn < 25; turn += 1) {
    const { state, step } = traceData.parse(reply.data);
    if (state !== 'asking' && state !== 'remedy') break;
    const check = knowledge.checks.get(step?.id ?? '');
    const remedy = knowledge.remedies.get(step?.id ?? '');
    const row = check && (check.given.faults[fault[0] ?? ''] ?? check.given.otherwise);
    const best = row ? row.indexOf(Math.max(...row)) : 0;
    const mends = remedy && fault.some((id) => (remedy.works[id] ?? 0) > 0.5);
    const answer = check ? check.outcomes[best]?.id : mends ? 'works' : 'failed';
    reply = tin.say(`/trace answer ${answer} step:${step?.id}`, { role: 'member' });
    if (reply.outcome !== 'answered') throw new Error(reply.title);
    count(reply);
  }
  return total;
}

/** Lines said over lines with every card whole, over the three jobs: at most two thirds is aimed at. */
export function cautionLines(): { said: number; whole: number; ratio: number } {
  const jobs = JOBS.map(({ symptoms, found }) => walked(symptoms, found));
  const said = jobs.reduce((sum, one) => sum + one.said, 0);
  const whole = jobs.reduce((sum, one) => sum + one.whole, 0);
  return { said, whole, ratio: said / whole };
}

if (import.meta.main) {
  for (const { name, symptoms, found } of JOBS) {
    const { said, whole } = walked(symptoms, found);
    console.log(`${name}: ${said} lines of caution, ${whole} with every card whole`);
  }
  console.log(`caution.lines.ratio ${cautionLines().ratio.toFixed(3)}`);
}
