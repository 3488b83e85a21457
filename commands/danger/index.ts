/** `/danger`: what eyes, nose or hands say of a phone, and how it is made safe. It holds for every command at once. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { dangerCleaned } from './cleaned.ts';
import { dangerHandedOver } from './handed-over.ts';
import { dangerIsolated } from './isolated.ts';
import { dangerNewCell } from './new-cell.ts';
import { dangerSeen } from './seen.ts';
import { dangerShow } from './show.ts';
import { dangerWipe } from './wipe.ts';
import { dangerWithdraw } from './withdraw.ts';

export const danger = defineCommand({
  name: 'danger',
  summary: say`Say that a phone is swollen, hot, leaking, hurt or wet, and how it was made safe`,
  main: 'seen',
  actions: {
    seen: dangerSeen,
    isolated: dangerIsolated,
    'handed-over': dangerHandedOver,
    'new-cell': dangerNewCell,
    cleaned: dangerCleaned,
    show: dangerShow,
    withdraw: dangerWithdraw,
    wipe: dangerWipe,
  },
});
