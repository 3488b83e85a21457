import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { switchTo } from './switch.ts';

export const off = defineAction({
  summary: say`Stop the weekly post`,
  who: 'steward',
  options: {},
  examples: ['/week off'],
  run: (_, context) => switchTo(false, context),
});
