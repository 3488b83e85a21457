/** `/shelf`: parts of the collective's own, from order to phone. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { shelfAdd } from './add.ts';
import { shelfArrived } from './arrived.ts';
import { shelfBack } from './back.ts';
import { shelfGone } from './gone.ts';
import { shelfLeast } from './least.ts';
import { shelfList } from './list.ts';
import { shelfShow } from './show.ts';
import { shelfTake } from './take.ts';
import { shelfWipe } from './wipe.ts';

export const shelf = defineCommand({
  name: 'shelf',
  summary: say`Parts on the shelf and on order, and what became of them`,
  main: 'list',
  actions: {
    list: shelfList,
    show: shelfShow,
    add: shelfAdd,
    arrived: shelfArrived,
    take: shelfTake,
    back: shelfBack,
    gone: shelfGone,
    least: shelfLeast,
    wipe: shelfWipe,
  },
});
