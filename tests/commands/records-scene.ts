/** A year of an invented workshop, with private things in it everywhere, and its file of open records. */
import Papa from 'papaparse';
import type { Reply } from '../../commands/framework/reply.ts';
import { recordsPreviewData } from '../../commands/records/preview.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

/** Words, names and numbers that must go nowhere. */
export const PRIVATE = /Ines|Moss|Elm Parts|4901|7518|Orrin|secret|14\.10|150|rattles|cash|Tin Shed/;

export function mustSay(made: TestBot, line: string, role: 'member' | 'steward' = 'member'): Reply {
  const reply = made.say(line, { role });
  if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
  return reply;
}

export function workshopYear(): TestBot {
  const made = testBot();
  const GOOD = 'ownership:shown lock:free stolen:clear data:purge';
  mustSay(made, '/family name model:"Orrin K3" as:keypad-removable-back new-price:400', 'steward');
  const open = (more: string) => mustSay(made, `/job open "Orrin K3" ${GOOD} ${more}`);
  open('came:bought price:20 symptoms:"dead, no charge" imei:490154203237518');
  mustSay(made, '/job log fitted:battery grade:copy out:14.10 job:1');
  mustSay(made, '/job log "secret: Moss paid cash, Elm Parts" as:words job:1');
  mustSay(made, '/job log oddity:"speaker rattles" job:1');
  const all = made.store.jobs.get(1) ? '/job 1' : '';
  const { untested } = mustSay(made, all).data as { untested: string[] };
  mustSay(made, `/job test pass:"${untested.join(', ')}" job:1`);
  mustSay(made, '/job finish restored page:seen sold:150 fault:battery-open note:"to Moss" job:1');
  open('symptoms:"no sound"');
  mustSay(made, '/job finish stripped parts:"speaker" job:2');
  open('symptoms:dead');
  mustSay(made, '/job finish passed job:3');
  open('symptoms:dead came:customer');
  mustSay(made, '/job finish handed-back fault:battery-open job:4');
  open('came:left');
  mustSay(made, '/job finish handed-back job:5');
  open('symptoms:dead');
  return made;
}

/** What the preview shows, made into the file, and read by another reader of CSV. */
export function exportedRecords(
  made: TestBot,
  options = '',
): { header: string[]; rows: string[][]; text: string } {
  const { digest } = recordsPreviewData.parse(mustSay(made, `/records preview 2026 ${options}`).data);
  const text =
    mustSay(made, `/records export 2026 seen:${digest} ${options}`, 'steward').files[0]?.text ?? '';
  const [header = [], ...rows] = Papa.parse<string[]>(text.trimEnd()).data;
  return { header, rows, text };
}
