import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { needs } from '../shared/needs.ts';
import { wipedBlocks } from '../shared/wipe-words.ts';
import { mustBeMeant, spokenOf, subjectOptions } from './options.ts';
import { dangerData, dangerState } from './reply.ts';

export const dangerShow = defineAction({
  summary: say`Show what is known of the danger of a phone`,
  options: subjectOptions,
  needs: [needs.job],
  examples: ['/danger show job:12'],

  data: dangerData,
  refuses: ['missing-option', 'not-found'],
  run: (given, context) => {
    const subject = mustBeMeant(context, given);
    const state = dangerState(context, spokenOf(context, subject));
    const removed = wipedBlocks(context, `danger:${subject.kind}:${subject.number}`);
    return { ...state, blocks: [...state.blocks, ...removed] };
  },
});
