import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { switchTo, weekSwitchData } from './weekly-switch.ts';

export const weekOn = defineAction({
  summary: say`Start the weekly post again`,
  who: 'steward',
  options: {},
  examples: ['/week on'],

  data: weekSwitchData,
  run: (_, context) => switchTo(true, context),
});
