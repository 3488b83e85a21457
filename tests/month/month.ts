/**
 * A month of a second invented collective, through all that a job can be: intake, traces, shelf, orders, waiting, photos, sale, returns,
 * hand-over pages, weekly posts, totals, records out and in. `npm run node tests/month/month.ts FOLDER` writes each page and
 * reply as text, to be read.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { recordsPreviewData } from '../../commands/records/preview.ts';
import { traceData } from '../../commands/trace/trace-data.ts';
import { photoText } from '../../src/draw/photo-text.ts';
import { renderAsText } from '../../src/surfaces/text-render.ts';
import { greyJpeg } from '../photos/grey-jpeg.ts';
import { type Saying, type TestBot, testBot } from '../test-bot.ts';

interface Page {
  said: string;
  by: string;
  day: string;
  reply: Reply;
}

export interface Month {
  bot: TestBot;
  pages: Page[];
  /** The newest page of a job for its next owner, as text. */
  handOver(job: number): string;
  /** The replies to what begins so. */
  to(line: string): Reply[];
}

const GOOD = 'ownership:shown lock:free stolen:clear';
/** What each phone of the month has, and what its checks show then. */
type Truth = string;

export function playMonth(): Month {
  const bot = testBot();
  const pages: Page[] = [];
  let now = new Date('2026-04-01T00:30:00Z');
  const at = (day: number, hour = 10) => {
    now = new Date(Date.UTC(2026, 3, day, hour - 10, 0));
  };
  const say = (what: string | { invoke: Reply['choices'][number]['invoke'] }, how: Saying = {}): Reply => {
    const given = { as: 'Juno', role: 'member' as const, now, ...how };
    const reply = bot.say(what, given);
    const said = typeof what === 'string' ? what : JSON.stringify(what.invoke).slice(0, 200);
    pages.push({ said, by: given.as, day: now.toISOString().slice(0, 10), reply });
    if (reply.outcome !== 'answered')
      throw new Error(`${said}: ${reply.title}\n${JSON.stringify(reply.blocks)}`);
    return reply;
  };
  const steward = { as: 'Oskar', role: 'steward' } as const;
  const tap = (reply: Reply, label: string | RegExp, how: Saying = {}): Reply => {
    const found = reply.choices.find((one) =>
      typeof label === 'string' ? one.label === label : label.test(one.label),
    );
    if (!found) throw new Error(`no ${label} among: ${reply.choices.map((one) => one.label).join(' | ')}`);
    return say({ invoke: found.invoke }, how);
  };

  /** Follows a trace to its remedy: each check shows what is likeliest for what the phone has. */
  const traced = (first: Reply, truth: Truth): Reply => {
    const { checks, remedies } = bot.context().knowledge;
    let reply = first;
    for (let turn = 0; turn < 30; turn += 1) {
      const { state, step, trace } = traceData.parse(reply.data);
      if (state === 'opening') {
        reply = say(`/trace note open:open trace:${trace}`);
        continue;
      }
      if (state !== 'asking' && state !== 'remedy') return reply;
      const check = step ? checks.get(step.id) : undefined;
      const row = check && (check.given.faults[truth] ?? check.given.otherwise);
      const outcome = row && check.outcomes[row.indexOf(Math.max(...row))]?.id;
      const remedy = step && (remedies.get(step.id)?.works[truth] ?? 0) >= 0.5 ? 'works' : 'failed';
      reply = say(`/trace answer "${outcome ?? remedy}" trace:${trace}`);
    }
    return reply;
  };
  const passAll = (job: number) => {
    const { untested } = jobData.parse(say(`/job ${job}`).data);
    if (untested.length) say(`/job test pass:"${untested.join(', ')}" job:${job}`);
  };
  const photo = (job: number, when: string, grey: number) => {
    const file = photoText(greyJpeg([[grey, 255 - grey]])) ?? '';
    return say({ invoke: { command: 'job', action: 'photo', options: { file, when, job: String(job) } } });
  };

  // --- the first days: a bench of nothing -------------------------------------------------------------------------------
  at(1);
  tap(say('/setup Germany', steward), /^Yes/, steward);
  say('/setup rate:18 promise:60 supplier:shown', steward);
  say('/family name "Pell 4" as:glued-back-under-display launched:2021-03 new-price:620', steward);
  say('/family name "Brack Mini" as:budget-port-on-board launched:2019-06 new-price:210', steward);
  for (const price of [150, 165, 158, 172])
    say(`/prices add "Pell 4" price:${price} how:sold condition:good`);
  for (const price of [55, 62]) say(`/prices add "Brack Mini" price:${price} how:sold condition:fair`);
  say(
    '/shelf add battery of:"Pell 4" grade:copy price:19 from:"Kellner" place:"drawer 2" count:2 tested:yes',
  );
  say('/shelf add "display assembly" of:"Pell 4" grade:copy price:48 from:"Kellner" due:2026-04-09');
  say('/shelf least battery of:"Pell 4" least:2', steward);
  say('/shelf list');

  // --- job 1: a tired cell, from offer to owner ---------------------------------------------------------------------------
  at(2);
  say('/worth "Pell 4" price:35 symptoms:"drains fast"');
  say(`/job open "Pell 4" came:bought price:35 symptoms:"drains fast" imei:490154203237518 ${GOOD}`);
  photo(1, 'intake', 30);
  say('/job log reading:"79 % capacity" job:1');
  say('/job log reading:"641 cycles" job:1');
  traced(say('/trace start job:1'), 'battery-worn');
  say('/job page job:1');
  say('/shelf take 1 job:1');
  say('/job log "seal renewed" minutes:40 job:1');
  say('/job log reading:"100 % capacity" job:1');
  photo(1, 'end', 200);
  say('/job log oddity:"small scratch by the lens" job:1');
  say('/swap battery effect:notice job:1 grade:copy');
  passAll(1);
  say('/job answer data:purge job:1');
  say('/job sell price:160 condition:good job:1');
  say('/job page job:1 photos:yes');
  say('/job label job:1');
  say('/job list');

  // --- job 2: a broken display, waits for its panel -------------------------------------------------------------------------
  at(7);
  say(`/job open "Pell 4" came:given symptoms:"cracked glass, no touch" ${GOOD}`, { as: 'Mattis' });
  say('/job wait part until:2026-04-09 note:"panel from Kellner" job:2', { as: 'Mattis' });
  say('/job finish restored page:seen sold:155 job:1');
  say('/job list');
  say('/job next hours:4');
  say('/week preview');
  at(9);
  say('/shelf arrived 3 place:"drawer 1"');
  say('/job wait nothing job:2', { as: 'Mattis' });
  say('/job timer job:2', { as: 'Mattis' });
  at(9, 11);
  say('/job timer job:2', { as: 'Mattis' });
  say('/shelf take 3 job:2', { as: 'Mattis' });
  say('/swap "display assembly" effect:free job:2 grade:copy', { as: 'Mattis' });
  passAll(2);
  say('/job answer data:purge job:2', { as: 'Mattis' });
  say('/job page job:2', { as: 'Mattis' });
  say('/job finish restored page:seen kept:yes worth:150 job:2', { as: 'Mattis' });

  // --- job 3: river water, stripped -------------------------------------------------------------------------------------------
  at(13);
  say(`/job open "Brack Mini" came:left symptoms:"dead, got wet" ${GOOD}`, { as: 'Sanne' });
  say('/worth trace:1 price:0');
  say('/job log "board green, cell taken out first" minutes:25 job:3', { as: 'Sanne' });
  say('/job answer data:destroy job:3', { as: 'Sanne' });
  say('/job finish stripped parts:"speaker, rear camera" job:3', { as: 'Sanne' });
  say('/shelf list');
  say('/week preview');

  // --- job 4: a swollen cell, to a service and back --------------------------------------------------------------------------
  at(15);
  say(`/job open "Brack Mini" came:customer symptoms:swollen ${GOOD}`, { as: 'Sanne' });
  say('/danger isolated job:4', { as: 'Sanne' });
  say('/job list');
  say('/danger new-cell who:"the battery service" job:4', { as: 'Sanne' });
  say('/job log out:25 for:other job:4', { as: 'Sanne' });
  passAll(4);
  say('/job answer data:owner-keeps job:4', { as: 'Sanne' });
  say('/job page job:4', { as: 'Sanne' });
  say('/job finish restored page:seen sold:0 job:4', { as: 'Sanne' });

  // --- job 5: job 1 comes back -------------------------------------------------------------------------------------------------
  at(21);
  say('/job returned 1 failed:battery symptoms:"shuts off" note:"goes out at 30 %"');
  say(`/job answer ${GOOD} job:5`);
  say('/shelf take 2 job:5');
  say('/job log minutes:30 job:5');
  passAll(5);
  say('/job answer data:owner-keeps job:5');
  say('/job page job:5');
  say('/job finish restored page:seen sold:0 job:5');
  say('/job returns');

  // --- job 6 hangs on an owner; handed on ----------------------------------------------------------------------------------------
  at(24);
  say('/job open "Brack Mini" came:given symptoms:"boot loop"', { as: 'Mattis' });
  say('/job wait owner until:2026-05-02 note:"unlock" job:6', { as: 'Mattis' });
  say('/job hand Sanne job:6', { as: 'Mattis' });
  say('/job 6', { as: 'Sanne' });
  say('/job list');

  // --- the end of the month ----------------------------------------------------------------------------------------------------------
  at(30);
  say('/week preview');
  say('/job totals 2026-04');
  say('/shelf list');
  const preview = say('/records preview 2026-04 provider:"Werkbank Nord"', steward);
  const { digest } = recordsPreviewData.parse(preview.data);
  const out = say(`/records export 2026-04 seen:${digest} provider:"Werkbank Nord"`, steward);
  say({ invoke: { command: 'records', action: 'import', options: { file: out.files[0]?.text ?? '' } } });
  say('/records list');

  const to = (line: string) => pages.filter(({ said }) => said.startsWith(line)).map(({ reply }) => reply);
  return {
    bot,
    pages,
    to,
    handOver: (job) =>
      to(`/job page job:${job}`)
        .at(-1)
        ?.files.find(({ name }) => name.endsWith('.md'))?.text ?? '',
  };
}

const shownFiles = z.array(z.object({ name: z.string(), text: z.string().optional() }));

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [folder = 'month'] = process.argv.slice(2);
  mkdirSync(folder, { recursive: true });
  const { pages } = playMonth();
  for (const [index, { said, by, day, reply }] of pages.entries()) {
    const name = `${String(index + 1).padStart(3, '0')} ${said.replace(/[^\w:.-]+/g, ' ').slice(0, 60)}.txt`;
    const files = shownFiles
      .parse(reply.files)
      .map(({ name: file, text }) => `--- ${file}\n${text ?? '(drawn)'}\n`);
    const text = `${day} ${by} > ${said}\n\n${renderAsText(reply, { width: 100, colour: false })}\n${files.join('\n')}`;
    writeFileSync(join(folder, name), text);
  }
  console.log(`${pages.length} pages in ${folder}`);
}
