import { say } from '../../shared/language/say.ts';
import { safetyAction } from './options.ts';

export const dangerCleaned = safetyAction('cleaned', {
  summary: say`Say that a wet phone was opened, cleaned inside and is dry`,
  wanted: ({ danger, wet }) => danger === 'none' && wet === 'wet',
  problem: say`No phone waits to be cleaned here.`,
});
