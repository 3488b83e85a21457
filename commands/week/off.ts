import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { switchTo, weekSwitchData } from './weekly-switch.ts';

export const weekOff = defineAction({
  summary: say`Stop the weekly post`,
  who: 'steward',
  options: {},
  examples: ['/week off'],

  data: weekSwitchData,
  run: (_, context) => switchTo(false, context),
});
