import { say } from '../../shared/language/say.ts';
import { safetyAction } from './options.ts';

export const dangerHandedOver = safetyAction('handed-over', {
  summary: say`Say that a phone with a suspect cell was handed over to someone qualified, or for disposal`,
  wanted: ({ danger }) => danger === 'suspect' || danger === 'isolated',
  problem: say`There is no suspect cell to hand over.`,
});
