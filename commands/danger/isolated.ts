import { say } from '../../shared/language/say.ts';
import { safetyAction } from './options.ts';

export const dangerIsolated = safetyAction('isolated', {
  summary: say`Say that a suspect cell is isolated: off, unplugged and set apart`,
  wanted: ({ danger }) => danger === 'suspect',
  problem: say`No cell waits to be isolated here.`,
});
