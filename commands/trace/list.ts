import { counted, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { reply, table, text } from '../framework/reply.ts';

export const traceList = defineAction({
  summary: 'List the open traces',
  options: {},
  examples: ['/trace list'],
  run: (_, context) => {
    const open = context.store.traces.listOpen();
    return reply({
      title: open.length ? counted(open.length, '{0} open trace', '{0} open traces') : say`No trace is open`,
      blocks: open.length
        ? [
            table(
              [say`>No.`, say`Phone`, say`Symptoms`, say`Begun by`, '>Answers'],
              open.map((one) => [
                String(one.number),
                (one.model === null ? null : context.store.models.get(one.model)?.name) ??
                  context.knowledge.families.get(one.family)?.name ??
                  one.family,
                one.symptoms.map((id) => context.knowledge.symptoms.get(id)?.name ?? id).join(', '),
                one.startedBy.name,
                String(one.steps.filter((step) => !step.undone).length),
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
