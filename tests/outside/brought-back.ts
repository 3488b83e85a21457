/** A phone through the whole of `/job`, as a member says it. */

import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { type TestBot, wordsOf } from '../test-bot.ts';

export interface Story {
  model: string;
  /** Added to `/job open`. */
  came: string;
  /** Lines of `/job log`, each the words after it. */
  log: readonly string[];
  sold: number;
  now?: Date;
}

const must = (made: TestBot, line: string, now: Date): Reply => {
  const reply = made.say(line, { now });
  if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
  return reply;
};

/** Opens a job, logs, tests every function, erases, and finishes it as restored. Answers what was said last. */
export function broughtBack(made: TestBot, { model, came, log, sold, now = made.now }: Story) {
  const opened = must(made, `/job open "${model}" ${came} ownership:shown lock:free stolen:clear`, now);
  const { job } = jobData.parse(opened.data);
  for (const words of log) must(made, `/job log ${words} job:${job}`, now);
  for (const name of jobData.parse(must(made, `/job ${job}`, now).data).untested)
    must(made, `/job test pass:${name} job:${job}`, now);
  must(made, `/job answer data:purge job:${job}`, now);
  const finished = must(made, `/job finish restored page:seen sold:${sold} job:${job}`, now);
  return { opened, finished, job: jobData.parse(finished.data) };
}
