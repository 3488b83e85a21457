import { say } from '../../shared/language/say.ts';
import { nextDue } from '../../shared/week/due.ts';
import { formatWeek, spanOf } from '../../shared/week/iso-week.ts';
import { defineAction } from '../framework/command.ts';
import { text } from '../framework/reply.ts';
import { weekOption } from './options.ts';
import { weekReplyOf } from './reply.ts';
import { weekData } from './week-data.ts';

export const weekPreview = defineAction({
  summary: say`Show what the weekly post says, or would say so far`,
  options: { week: weekOption(say`Which week; the one of the next post when left out`) },
  examples: ['/week preview', '/week preview 2026-W09'],

  data: weekData,
  run: ({ week }, context) => {
    const { collective, now, store } = context;
    const meant = week ?? nextDue(collective.settings, now).week;
    const made = weekReplyOf(context, meant);
    const name = formatWeek(meant);
    const posted = store.weeks.ofWeek(name).some(({ state }) => state === 'sent');
    const running = spanOf(meant, collective.settings.zone).to.getTime() > now.getTime();
    const note = posted
      ? say`This week is posted; what changes later is put right there.`
      : running
        ? say`The week is not over: this is how it stands.`
        : null;
    return note && made.blocks.length ? { ...made, blocks: [...made.blocks, text(note)] } : made;
  },
});
