import { z } from 'zod';
import type { Check, Remedy } from '../../knowledge/schema.ts';
import { readAnswer } from '../../shared/diagnosis/reading.ts';
import { eventsOfAnswer } from '../../shared/diagnosis/sets/next-step.ts';
import type { Message } from '../../shared/language/message.ts';
import { packText, plain, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import type { DraftChoice } from '../framework/reply.ts';
import { answerData, answerReply, readAnswerWords } from '../shared/answer-words.ts';
import { needs } from '../shared/needs.ts';
import { subjectOfTrace } from '../shared/phone-state.ts';
import { askedStep, openTrace, stepOption, traceOption } from './options.ts';
import { settled } from './settle.ts';
import { traceData } from './trace-data.ts';
import { traceDecisionOf } from './trace-decision.ts';

/** `works`: all that was open is gone. `failed`: nothing changed. `gone: dead`: part of it is gone. */
function readRemedyAnswer(
  says: string,
  open: readonly string[],
): { outcome: 'works' | 'partly' | 'failed'; gone: string[] } | null {
  const word = says.trim().toLowerCase();
  if (word === 'works' || word === 'failed') return { outcome: word, gone: [] };
  const match = /^gone:\s*(.+)$/.exec(word);
  const gone = match?.[1]?.split(',').map((id) => id.trim()) ?? [];
  if (!gone.length || gone.some((id) => !open.includes(id))) return null;
  return open.every((id) => gone.includes(id)) ? { outcome: 'works', gone: [] } : { outcome: 'partly', gone };
}

const isCheck = (step: Check | Remedy): step is Check => 'outcomes' in step;

export const traceAnswer = defineAction({
  summary: say`Answer the check that was asked: an outcome, its words, or a reading`,
  ahead: true,
  who: 'member',
  options: {
    says: textOption({ summary: say`What you saw or read`, example: '0.00 A', max: 200 }),
    trace: traceOption,
    step: stepOption,
  },
  needs: [needs.openTrace],
  examples: ['/trace answer "0.00 A" step:"Current at the charger"'],

  data: z.union([traceData, answerData]),
  refuses: ['not-found', 'missing-option', 'wrong-state', 'unsafe'],
  run: ({ says, trace: number, step: given }, context) => {
    const open = openTrace(context, number);
    const step = askedStep(context, open, given);
    const answering = (label: Message, answer: string): DraftChoice => ({
      label,
      invoke: {
        command: 'trace',
        action: 'answer',
        options: { says: answer, trace: String(open.number), step: step.id },
      },
      subject: `trace:${open.number}`,
      revision: open.revision,
    });
    const record = { ref: step.id, by: actorOf(context), at: context.now };
    if (isCheck(step)) {
      const read = readAnswer(step, says);
      if (!read.ok) {
        // In other words than its own: shown before it counts.
        const meant = readAnswerWords(context, step, says);
        if (meant) return answerReply(open, step, meant);
        throw new Refusal({
          code: 'bad-option',
          problem: plain`${read.problem}.`,
          expected: read.expected,
          option: 'says',
          example: `/trace show ${open.number}`,
          choices: step.outcomes.map(({ id, says: words }) => answering(packText(words), id)),
        });
      }
      context.store.traces.add(open.number, {
        ...record,
        kind: 'check',
        outcome: read.outcome.id,
        reading: read.reading,
      });
      return settled(context, open.number, eventsOfAnswer(step, read.outcome.id));
    }
    const { found } = traceDecisionOf(context, open);
    const answer = readRemedyAnswer(
      says,
      found.open.map(({ ref }) => ref),
    );
    if (!answer) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`"${verbatim(says)}" is no answer to ${packText(step.name)}.`,
        expected: say`works, failed, or gone: and what is gone`,
        option: 'says',
        example: `/trace show ${open.number}`,
        choices: [
          { ...answering(say`Done: it works`, 'works'), main: true },
          answering(say`Done: no change`, 'failed'),
        ],
      });
    }
    const added = context.store.traces.add(open.number, {
      ...record,
      kind: 'remedy',
      outcome: answer.outcome,
      reading: answer.gone.length ? answer.gone.join(',') : null,
    });
    // Something else is wrong with it than was thought: the cautions are said whole again.
    if (answer.outcome === 'failed') context.store.cautionsShown.forget(subjectOfTrace(context, added));
    if (answer.outcome === 'works') context.store.traces.end(open.number);
    return settled(context, open.number, eventsOfAnswer(step, answer.outcome));
  },
});
