/** `/job`: a phone from intake to its next owner. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { answer } from './answer.ts';
import { finish } from './finish.ts';
import { hand } from './hand.ts';
import { list } from './list.ts';
import { log } from './log.ts';
import { open } from './open.ts';
import { reopen } from './reopen.ts';
import { sheet } from './sheet.ts';
import { show } from './show.ts';
import { strike } from './strike.ts';
import { take } from './take.ts';
import { test } from './test.ts';

export const job = defineCommand({
  name: 'job',
  summary: say`A phone from intake to its next owner`,
  main: 'show',
  actions: { show, open, answer, log, test, finish, sheet, list, take, hand, strike, reopen },
});
