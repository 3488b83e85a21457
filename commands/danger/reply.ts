/** What `/danger` answers: the cautions, where the phone stands, and what comes next. */

import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { plain, say } from '../../shared/language/say.ts';
import { saidFacts } from '../../shared/phone/event.ts';
import { dangers, type PhoneState, wetFactsOf, wetnesses } from '../../shared/phone/state.ts';
import type { PhoneSubject } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { type Draft, type DraftChoice, reply, steps, text } from '../framework/reply.ts';
import { cardsOfState } from '../shared/caution-cards.ts';
import { dangerChoice, dangerReply, factLine, misreadChoice } from '../shared/danger-reply.ts';
import { phoneOfJob, phoneOfTrace } from '../shared/phone.ts';

export const dangerData = z.object({
  subject: z.object({ kind: z.enum(['job', 'trace']), number: z.number().int() }).nullable(),
  danger: z.enum(dangers),
  wet: z.enum(wetnesses),
  facts: z.array(z.enum(saidFacts)),
});

export const dangerDataOf = (
  subject: PhoneSubject | null,
  { danger, wet, facts }: PhoneState,
): z.infer<typeof dangerData> => ({
  subject,
  danger,
  wet,
  facts: facts.map(({ fact }) => fact),
});

/** "Job 12, Orrin K3". */
function headOf(context: Context, { kind, number }: PhoneSubject): Message {
  if (kind === 'job') {
    const job = context.store.jobs.get(number);
    return say`Job ${number}, ${job ? phoneOfJob(context, job).name : ''}`;
  }
  const trace = context.store.traces.get(number);
  return say`Trace ${number}, ${trace ? phoneOfTrace(context, trace).name : ''}`;
}

/** To go on where the phone is worked on. */
function goOn({ store }: Context, { kind, number }: PhoneSubject): DraftChoice[] {
  const invoke = (command: string, label: Message, options: Record<string, string>): DraftChoice => ({
    label: label,
    invoke: { command, action: 'show', options },
    open: true,
  });
  if (kind === 'trace') return [invoke('trace', say`Go on with trace ${number}`, { trace: String(number) })];
  const trace = store.jobs.get(number)?.trace ?? null;
  return [
    ...(trace !== null && store.traces.get(trace)?.state === 'open'
      ? [invoke('trace', say`Go on with trace ${trace}`, { trace: String(trace) })]
      : []),
    invoke('job', say`Go on with job ${number}`, { job: String(number) }),
  ];
}

/** The state of a phone, for the room. */
export function dangerState(
  context: Context,
  { subject, state, revision }: { subject: PhoneSubject; state: PhoneState; revision: number },
): Draft<z.infer<typeof dangerData>> {
  const head = headOf(context, subject);
  const data = dangerDataOf(subject, state);
  const danger = dangerReply(context, subject, revision, state);
  if (danger) {
    const { says, cautions, blocks, choices } = danger;
    return reply({ title: plain`${head}: ${says}`, tone: 'danger', cautions, blocks, choices, data });
  }
  const known = state.facts.map((fact) => factLine(context, fact));
  const words = {
    wet: say`wet: no charger, no supply and no switching on until it is cleaned inside and dry`,
    cleaned: say`cleaned inside and dry`,
    no: state.newCell ? say`it has a new cell; go on` : say`no danger is known`,
  } as const;
  return reply({
    title: plain`${head}: ${words[state.wet]}`,
    tone: state.wet === 'wet' ? 'caution' : 'plain',
    cautions: cardsOfState(context, state),
    blocks: [
      ...(known.length ? [steps(known, say`What is known of it`, false)] : []),
      ...(known.length
        ? []
        : [text(say`Say what you see: /danger swollen, hot, leaking, hurt, lifted or wet.`)]),
    ],
    choices: [
      ...(state.wet === 'wet'
        ? [
            dangerChoice(subject, revision, say`It is cleaned inside and dry`, 'cleaned'),
            ...misreadChoice(context, subject, revision, wetFactsOf(state)),
          ]
        : []),
      ...goOn(context, subject),
    ],
    data,
  });
}
