/** `/family`: phones by how they are built, and the models that the collective names as them. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { familyForget } from './forget.ts';
import { familyGuess } from './guess.ts';
import { familyList } from './list.ts';
import { familyName } from './name.ts';
import { familyRestore } from './restore.ts';
import { familyShow } from './show.ts';

export const family = defineCommand({
  name: 'family',
  summary: say`Phones by how they are built, and the models you name as them`,
  main: 'list',
  actions: {
    list: familyList,
    show: familyShow,
    name: familyName,
    guess: familyGuess,
    restore: familyRestore,
    forget: familyForget,
  },
});
