/** `/job`: a phone from intake to its next owner. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { jobAnswer } from './answer.ts';
import { jobFinish } from './finish.ts';
import { jobHand } from './hand.ts';
import { jobLabel } from './label.ts';
import { jobList } from './list.ts';
import { jobLog } from './log.ts';
import { jobLook } from './look.ts';
import { jobNext } from './next.ts';
import { jobOpen } from './open.ts';
import { jobPage } from './page.ts';
import { jobPhoto } from './photo.ts';
import { jobPhotos } from './photos.ts';
import { jobReopen } from './reopen.ts';
import { jobReturned } from './returned.ts';
import { jobReturns } from './returns.ts';
import { jobSell } from './sell.ts';
import { jobShow } from './show.ts';
import { jobStrike } from './strike.ts';
import { jobTake } from './take.ts';
import { jobTest } from './test.ts';
import { jobTimer } from './timer.ts';
import { jobTotals } from './totals.ts';
import { jobWait } from './wait.ts';
import { jobWipe } from './wipe.ts';

export const job = defineCommand({
  name: 'job',
  summary: say`A phone from intake to its next owner`,
  main: 'show',
  actions: {
    show: jobShow,
    open: jobOpen,
    look: jobLook,
    answer: jobAnswer,
    log: jobLog,
    test: jobTest,
    sell: jobSell,
    finish: jobFinish,
    page: jobPage,
    label: jobLabel,
    photo: jobPhoto,
    photos: jobPhotos,
    list: jobList,
    next: jobNext,
    wait: jobWait,
    timer: jobTimer,
    take: jobTake,
    hand: jobHand,
    strike: jobStrike,
    wipe: jobWipe,
    reopen: jobReopen,
    returned: jobReturned,
    returns: jobReturns,
    totals: jobTotals,
  },
});
