/**
 * A whole job in the invented collective, played through the real commands: what the bot says is worked out as it
 * goes. Only the narrator's lines and what the invented phone would show are written here: its cell is dead.
 */
import type { Reply } from '../commands/reply.ts';
import type { Knowledge } from '../knowledge/load.ts';
import type { Session } from './session.ts';

/** What is wrong with the tour's phone; what its checks show follows from it. */
const TRUTH = 'battery-open';
/** Readings and outcomes that a person would give for this phone; other checks show what is likeliest for its fault. */
const shows: Readonly<Record<string, string>> = {
  'charge-current': '0.00 A',
  'test-cell': 'boots',
  'charge-with-test-cell': 'normal',
  'cell-voltage': '1.90 V',
};
const MOST_STEPS = 30;

export interface TourParts {
  session: Session;
  knowledge: Knowledge;
  /** Shows a narrator's line. */
  narrate: (text: string) => void;
  /** Shows what was typed and what came back. */
  show: (typed: string, reply: Reply) => void;
}

/** What the phone shows for a step: an outcome's id or a reading. */
function shown({ checks, remedies }: Knowledge, step: string): string {
  const given = shows[step];
  if (given !== undefined) return given;
  const check = checks.get(step);
  if (!check) return (remedies.get(step)?.works[TRUTH] ?? 0) >= 0.5 ? 'works' : 'failed';
  const row = check.given.faults[TRUTH] ?? check.given.otherwise;
  return check.outcomes[row.indexOf(Math.max(...row))]?.id ?? '';
}

/** The step that a trace's reply asks for. */
function stepOf(reply: Reply): { state: string; step: string | null } {
  const data = reply.data;
  if (typeof data !== 'object' || data === null || !('state' in data)) return { state: '', step: null };
  const step =
    'step' in data && typeof data.step === 'object' && data.step !== null && 'id' in data.step
      ? data.step.id
      : null;
  return { state: String(data.state), step: typeof step === 'string' ? step : null };
}

/** The number of the trace that the reply is about. */
const numberOf = ({ data }: Reply): number =>
  typeof data === 'object' && data !== null && 'trace' in data ? Number(data.trace) : Number.NaN;

export function playTour({ session, knowledge, narrate, show }: TourParts): void {
  const say = (line: string): Reply => {
    const reply = session.say(line);
    show(line, reply);
    if (reply.outcome !== 'answered') throw new Error(`the tour was refused: ${line}: ${reply.title}`);
    return reply;
  };
  narrate(
    'Tin Shed is an invented repair collective. Ines is offered a dead Orrin K3 for AUD 20. What can the bot say of the model alone?',
  );
  say('/worth "Orrin K3" price:20');
  narrate('It shows no sign of life and does not charge. With that known:');
  say('/worth "Orrin K3" price:20 symptoms:"dead, no charge"');
  narrate('She says so. The owner would rather see it used than binned, and gives it to the workshop.');
  say('/worth "Orrin K3" symptoms:"dead, no charge"');
  narrate('Before current goes into a cell nobody knows:');
  say('/caution "charging a cell of unknown history"');
  narrate(
    'She traces the fault. The bot asks one check at a time; a reading that she has already can be given at once.',
  );
  let reply = say('/trace "dead, no charge" model:"Orrin K3"');
  reply = say('/trace answer "0.00 A" step:"Current at the charger"');
  narrate('And with a test cell from the drawer it boots.');
  reply = say('/trace answer boots step:"Known-good test cell"');
  let swapped = '';
  for (let turn = 0; turn < MOST_STEPS; turn += 1) {
    const { state, step } = stepOf(reply);
    if (state === 'mended' || step === null) break;
    if (state === 'remedy') {
      if (!swapped) {
        narrate('The trace has come to a remedy. What is the phone worth, knowing this much?');
        say(`/worth trace:${numberOf(reply)} price:0`);
        narrate('Worth the part. She does it.');
      }
      swapped = step;
    }
    reply = say(`/trace answer "${shown(knowledge, step)}"`);
  }
  if (stepOf(reply).state !== 'mended') throw new Error('the tour did not come to a mended phone');
  narrate('It works again.');
  say(`/worth trace:${numberOf(reply)} price:0`);
  const fitted = knowledge.remedies.get(swapped)?.parts[0]?.component;
  if (fitted) {
    narrate('What did that swap do, and what must she tell the next owner?');
    say(`/paired "Orrin K3" component:${fitted}`);
  }
  narrate('And the thing that must never leave this board:');
  say('/paired "Orrin K3" component:"fingerprint sensor"');
  narrate('She saw one sold last week, and notes the price for everyone:');
  say('/prices add "Orrin K3" price:138 condition:good');
  say('/prices list "Orrin K3"');
  narrate(
    'That is the tour. Try: /help, /family list, /trace "got wet" model:"Vesper Loam", /worth "Halden Fold" price:300 damage:"display assembly"',
  );
}
