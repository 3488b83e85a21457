/**
 * A whole job in the invented collective, played through the real commands: what the bot says is worked out as it
 * goes. Only the narrator's lines and what the invented phone would show are written here: its cell is dead.
 */
import type { Reply } from '../../../commands/framework/reply.ts';
import type { Knowledge } from '../../../knowledge/load.ts';
import { hourOfWeek, weekOf } from '../../../shared/week/iso-week.ts';
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
  /** The time zone of the collective. */
  zone: string;
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

export function playTour({ session, knowledge, zone, narrate, show }: TourParts): void {
  const say = (line: string): Reply => {
    const reply = session.say(line);
    show(line, reply);
    if (reply.outcome !== 'answered') throw new Error(`the tour was refused: ${line}: ${reply.title}`);
    return reply;
  };
  const { clock } = session;
  const week = weekOf(clock(), zone);
  /** Nine in the morning of a day of this week: 1 is Monday. */
  const day = (weekday: number): void => {
    const now = hourOfWeek(week, weekday, 9, zone);
    session.clock = () => now;
  };
  day(1);
  const speaks = (name: string, role: 'member' | 'steward' = 'member'): void => {
    session.persona = { name, role };
  };
  restored({ say, narrate, knowledge });
  narrate('The next day Wren is given a Tarn 8 that fell into a river weeks ago. She takes it in.');
  day(2);
  speaks('Wren');
  stripped({ say, narrate });
  narrate('On Wednesday a Halden Fold with a broken display is offered to Bram, for AUD 300.');
  day(3);
  speaks('Bram');
  passedOn({ say, narrate });
  narrate(
    'Ines keeps a word to herself about the first one, in a direct message to the bot. Nobody else can read it.',
  );
  day(4);
  speaks('Ines', 'steward');
  session.direct = true;
  say('/note add "The port of the K3 was packed with fluff: look there first next time." job:1');
  session.direct = false;
  narrate('The week is over. This is what the bot posts to the room, picture and all:');
  day(7);
  say('/week preview');
  narrate(
    'That is the tour. Try: /help, /job list, /family list, /trace "got wet" model:"Vesper Loam", /worth "Halden Fold" price:300 damage:"display assembly"',
  );
  session.clock = clock;
}

interface Telling {
  say: (line: string) => Reply;
  narrate: (text: string) => void;
}

/** A dead phone, from the offer to its next owner. */
function restored({ say, narrate, knowledge }: Telling & { knowledge: Knowledge }): void {
  narrate(
    'Tin Shed is an invented repair collective. Ines is offered a dead Orrin K3 for AUD 20. It does not charge either.',
  );
  say('/worth "Orrin K3" price:20 symptoms:"dead, no charge"');
  narrate(
    'Worth it, if the looks that cost nothing come first. The owner would rather see it used than binned, and lets her have it for nothing. Ines takes it in:',
  );
  say('/job open "Orrin K3" came:given symptoms:"dead, no charge" imei:490154203237518');
  say('/job answer ownership:shown lock:free stolen:clear note:"owner signed, list looked up"');
  narrate('Before current goes into a cell nobody knows:');
  say('/caution "charging a cell of unknown history"');
  narrate(
    'She traces the fault. The bot asks one check at a time; a reading that she has already can be given at once.',
  );
  let reply = say('/trace "dead, no charge" job:1');
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
  const part = knowledge.remedies.get(swapped)?.parts[0];
  if (part) {
    narrate('It works again. She writes down what went in, and is told at once what the swap does:');
    say(`/job log fitted:${part.component} grade:${part.grade} out:24 minutes:35 reading:"98 % capacity"`);
    narrate('Her phone shows no notice. She reports that for everyone:');
    say(`/swap ${part.component} effect:free job:1`);
  }
  narrate('And the thing that must never leave this board:');
  say('/paired "Orrin K3" component:"fingerprint sensor"');
  narrate('Every function is tested before the phone is closed:');
  const test = say('/job test');
  const untested = untestedIn(test).filter((id) => id !== 'sim');
  say(`/job test pass:"${untested.join(', ')}"`);
  say('/job test waive:sim reason:"the tray sticks a little"');
  say('/job answer data:purge');
  narrate('It is sold. What is left, and what was promised?');
  say('/job finish restored page:seen sold:138');
  say('/job page job:1');
  say('/prices add "Orrin K3" price:138 condition:fair');
}

/** A phone beyond mending: its parts are kept. */
function stripped({ say, narrate }: Telling): void {
  say('/job open "Tarn 8" came:given symptoms:"dead, got wet" ownership:shown lock:free stolen:clear');
  say('/worth "Tarn 8" symptoms:"dead, got wet"');
  narrate(
    'Worth opening. Inside, the board is green all over and past mending. What can be had from it, and what must stay with its board?',
  );
  say('/paired "Tarn 8"');
  say('/job log "board green all over, cell out first" minutes:20');
  say('/job answer data:destroy note:"board broken up"');
  say('/job finish stripped parts:"speaker, rear camera"');
}

/** A phone that is not worth the money here. */
function passedOn({ say, narrate }: Telling): void {
  say('/worth "Halden Fold" price:300 damage:"display assembly"');
  narrate('Too dear. The owner leaves it for a bench that mends folding displays; Bram takes it there.');
  say(
    '/job open "Halden Fold" came:left symptoms:"lines, blots or flicker in the picture" ownership:shown lock:free stolen:clear',
  );
  say('/job log "shown to the other bench" minutes:10');
  say('/job finish passed note:"to a bench that mends folding displays"');
}

/** Functions that a reply about a job says are not tested yet. */
function untestedIn({ data }: Reply): string[] {
  if (typeof data !== 'object' || data === null || !('untested' in data) || !Array.isArray(data.untested))
    return [];
  return data.untested.map(String);
}
