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
  /** Shows what is only told otherwise, too. */
  whole?: boolean;
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

export function playTour({ session, knowledge, zone, narrate, show, whole = false }: TourParts): void {
  const said = (line: string, isShown: boolean): Reply => {
    const reply = session.say(line);
    if (isShown || whole) show(line, reply);
    if (reply.outcome !== 'answered') throw new Error(`the tour was refused: ${line}: ${reply.title}`);
    return reply;
  };
  const say = (line: string): Reply => said(line, true);
  const quietly = (line: string): Reply => said(line, false);
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
  restored({ say, quietly, narrate, knowledge });
  narrate('The next day Wren is given a Tarn 8 that fell into a river weeks ago. She takes it in.');
  day(2);
  speaks('Wren');
  stripped({ say, quietly, narrate });
  narrate('On Wednesday a Halden Fold with a broken display is offered to Bram, for AUD 300.');
  day(3);
  speaks('Bram');
  passedOn({ say, quietly, narrate });
  narrate(
    'Ines keeps a word to herself about the first one, in a direct message to the bot. Nobody else can read it.',
  );
  day(4);
  speaks('Ines', 'steward');
  session.direct = true;
  quietly('/note add "The port of the K3 was packed with fluff: look there first next time." job:1');
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
  /** Says it without showing it: a tour is short. */
  quietly: (line: string) => Reply;
  narrate: (text: string) => void;
}

/** A dead phone, from the offer to its next owner. */
function restored({ say, quietly, narrate, knowledge }: Telling & { knowledge: Knowledge }): void {
  narrate(
    'Tin Shed is an invented repair collective. Ines is offered a dead Orrin K3 for AUD 20. It does not charge either.',
  );
  say('/worth "Orrin K3" price:20 symptoms:"dead, no charge"');
  narrate(
    'Worth it, if the looks that cost nothing come first. The owner would rather see it used than binned, and lets her have it for nothing. Ines takes it in:',
  );
  quietly('/job open "Orrin K3" came:given symptoms:"dead, no charge" imei:490154203237518');
  quietly('/job answer ownership:shown lock:free stolen:clear note:"owner signed, list looked up"');
  quietly('/caution "charging a cell of unknown history"');
  narrate(
    'She traces the fault. The bot asks one check at a time; a reading that she has already can be given at once.',
  );
  let reply = say('/trace "dead, no charge" job:1');
  reply = quietly('/trace answer "0.00 A" step:"Current at the charger"');
  narrate('And with a test cell from the drawer it boots.');
  reply = quietly('/trace answer boots step:"Known-good test cell"');
  let swapped = '';
  for (let turn = 0; turn < MOST_STEPS; turn += 1) {
    const { state, step } = stepOf(reply);
    if (state === 'opening') {
      reply = quietly('/trace note open:open');
      continue;
    }
    if (state === 'mended' || step === null) break;
    if (state === 'remedy') {
      if (!swapped) {
        narrate('The trace has come to a remedy. What is the phone worth, knowing this much?');
        say(`/worth trace:${numberOf(reply)} price:0`);
        narrate('Worth the part. She does it.');
      }
      swapped = step;
    }
    reply = quietly(`/trace answer "${shown(knowledge, step)}"`);
  }
  if (stepOf(reply).state !== 'mended') throw new Error('the tour did not come to a mended phone');
  const part = knowledge.remedies.get(swapped)?.parts[0];
  if (part) {
    narrate(
      'It works again. She writes down what went in (/job log), and reports that her phone shows no notice (/swap).',
    );
    quietly(
      `/job log fitted:${part.component} grade:${part.grade} out:24 minutes:35 reading:"98 % capacity"`,
    );
    quietly(`/swap ${part.component} effect:free job:1`);
  }
  narrate('And the thing that must never leave this board:');
  say('/paired "Orrin K3" component:"fingerprint sensor"');
  const test = quietly('/job test');
  const untested = untestedIn(test).filter((id) => id !== 'sim');
  quietly(`/job test pass:"${untested.join(', ')}"`);
  quietly('/job test waive:sim reason:"the tray sticks a little"');
  quietly('/job answer data:purge');
  narrate(
    'Every function is tested before the phone is closed (/job test). Then it is sold. What is left, and what was promised?',
  );
  say('/job finish restored page:seen sold:138');
  say('/job page job:1');
  quietly('/prices add "Orrin K3" price:138 condition:fair');
}

/** A phone beyond mending: its parts are kept. */
function stripped({ say, quietly, narrate }: Telling): void {
  quietly('/job open "Tarn 8" came:given symptoms:"dead, got wet" ownership:shown lock:free stolen:clear');
  say('/worth "Tarn 8" symptoms:"dead, got wet"');
  narrate(
    'Worth opening. Inside, the board is green all over and past mending. What can be had from it, and what must stay with its board?',
  );
  quietly('/paired "Tarn 8"');
  quietly('/job log "board green all over, cell out first" minutes:20');
  quietly('/job answer data:destroy note:"board broken up"');
  quietly('/job finish stripped parts:"speaker, rear camera"');
}

/** A phone that is not worth the money here. */
function passedOn({ say, quietly, narrate }: Telling): void {
  say('/worth "Halden Fold" price:300 damage:"display assembly"');
  narrate('Too dear. The owner leaves it for a bench that mends folding displays; Bram takes it there.');
  quietly(
    '/job open "Halden Fold" came:left symptoms:"lines, blots or flicker in the picture" ownership:shown lock:free stolen:clear',
  );
  quietly('/job log "shown to the other bench" minutes:10');
  quietly('/job finish passed note:"to a bench that mends folding displays"');
}

/** Functions that a reply about a job says are not tested yet. */
function untestedIn({ data }: Reply): string[] {
  if (typeof data !== 'object' || data === null || !('untested' in data) || !Array.isArray(data.untested))
    return [];
  return data.untested.map(String);
}
