import { say } from '../../shared/language/say.ts';
import { safetyAction } from './options.ts';

export const dangerNewCell = safetyAction('new-cell', {
  summary: say`Say that someone qualified took the suspect cell out and fitted another`,
  wanted: ({ danger }) => danger !== 'none',
  problem: say`Its cell is not under suspicion.`,
});
