/** `/family`: phones by how they are built, and the models that the collective names as them. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { forget } from './forget.ts';
import { list } from './list.ts';
import { name } from './name.ts';
import { show } from './show.ts';

export const family = defineCommand({
  name: 'family',
  summary: say`Phones by how they are built, and the models you name as them`,
  main: 'list',
  actions: { list, show, name, forget },
});
