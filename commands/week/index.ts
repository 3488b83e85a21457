/** `/week`: the week in restored phones. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { off } from './off.ts';
import { on } from './on.ts';
import { post } from './post.ts';
import { preview } from './preview.ts';

export const week = defineCommand({
  name: 'week',
  summary: say`The week in restored phones: preview it, post it, turn the weekly post on or off`,
  main: 'preview',
  actions: { preview, post, on, off },
});
