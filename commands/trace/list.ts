import { z } from 'zod';
import { counted, inRow, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { reply, right, table, text } from '../framework/reply.ts';
import { phoneOfTrace } from '../shared/phone.ts';

const traceListData = z.object({
  traces: z.array(
    z.object({
      number: z.number().int(),
      family: z.string(),
      /** Ids. */
      symptoms: z.array(z.string()),
      /** By the name that they have. */
      startedBy: z.string(),
    }),
  ),
});

export const traceList = defineAction({
  summary: say`List the open traces`,
  options: {},
  examples: ['/trace list'],

  data: traceListData,
  run: (_, context) => {
    const open = context.store.traces.listOpen();
    return reply({
      title: open.length ? counted(open.length, '{0} open trace', '{0} open traces') : say`No trace is open`,
      blocks: open.length
        ? [
            table(
              [right(say`No.`), say`Phone`, say`Symptoms`, say`Begun by`, right(say`Answers`)],
              open.map((one) => [
                plain`${one.number}`,
                phoneOfTrace(context, one).name,
                inRow(one.symptoms.map((id) => packText(context.knowledge.symptoms.get(id)?.name ?? id))),
                verbatim(one.startedBy.name),
                plain`${one.steps.filter((step) => !step.undone).length}`,
              ]),
            ),
          ]
        : [text(say`Begin one: /trace dead model:"Orrin K3"`)],
      choices: open.slice(0, 9).map((one) => ({
        label: say`Go on with trace ${one.number}`,
        invoke: { command: 'trace', action: 'show', options: { trace: String(one.number) } },
      })),
      data: {
        traces: open.map(({ number, family, symptoms, startedBy }) => ({
          number,
          family,
          symptoms,
          startedBy: startedBy.name,
        })),
      },
    });
  },
});
