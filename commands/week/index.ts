/** `/week`: the week in restored phones. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { weekOff } from './off.ts';
import { weekOn } from './on.ts';
import { weekPost } from './post.ts';
import { weekPreview } from './preview.ts';

export const week = defineCommand({
  name: 'week',
  summary: say`The week in restored phones: preview it, post it, turn the weekly post on or off`,
  main: 'preview',
  actions: {
    preview: weekPreview,
    post: weekPost,
    on: weekOn,
    off: weekOff,
  },
});
