/** `/job`: a phone from intake to its next owner. */
import { defineCommand } from './command.ts';
import { finish, reopen } from './job/finish.ts';
import { hand, list, take } from './job/holding.ts';
import { answer, open } from './job/intake.ts';
import { log, strike } from './job/log.ts';
import { sheet, show } from './job/showing.ts';
import { test } from './job/testing.ts';

export { jobListData } from './job/holding.ts';
export { jobData } from './job/reply.ts';

export const job = defineCommand({
  name: 'job',
  summary: 'A phone from intake to its next owner',
  main: 'show',
  actions: { show, open, answer, log, test, finish, sheet, list, take, hand, strike, reopen },
});
