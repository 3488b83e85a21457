import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { switchTo } from './switch.ts';

export const on = defineAction({
  summary: say`Start the weekly post again`,
  who: 'steward',
  options: {},
  examples: ['/week on'],
  run: (_, context) => switchTo(true, context),
});
