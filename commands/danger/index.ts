/** `/danger`: what eyes, nose or hands say of a phone, and how it is made safe. It holds for every command at once. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { cleaned } from './cleaned.ts';
import { handedOver } from './handed-over.ts';
import { isolated } from './isolated.ts';
import { newCell } from './new-cell.ts';
import { seen } from './seen.ts';
import { show } from './show.ts';
import { withdraw } from './withdraw.ts';

export const danger = defineCommand({
  name: 'danger',
  summary: say`Say that a phone is swollen, hot, leaking, hurt or wet, and how it was made safe`,
  main: 'seen',
  actions: {
    seen,
    isolated,
    'handed-over': handedOver,
    'new-cell': newCell,
    cleaned,
    show,
    withdraw,
  },
});
