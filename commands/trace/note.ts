import { accessLevels } from '../../knowledge/schema.ts';
import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { choiceOption, lookupOption, manyOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { benchEventsOf } from '../shared/find-trace.ts';
import { components, symptoms } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { phoneOfTrace } from '../shared/phone.ts';
import { plainlyUnsaid, recordSaid } from '../shared/said.ts';
import { openTrace, traceOption } from './options.ts';
import { settled } from './settle.ts';
import { traceData } from './trace-data.ts';

export const traceNote = defineAction({
  summary: say`Say at any time what else is known of the phone: what it shows or does not, what is good, how far it lies open`,
  who: 'member',
  options: {
    shown: optional(
      manyOption(
        lookupOption({
          summary: say`What it does wrong too`,
          example: 'fussy about chargers',
          lookup: symptoms,
        }),
      ),
    ),
    denied: optional(
      manyOption(
        lookupOption({
          summary: say`What it does not do wrong, where it would be seen: "does not charge" when it charges fine`,
          example: 'does not charge',
          lookup: symptoms,
        }),
      ),
    ),
    good: optional(
      manyOption(
        lookupOption({
          summary: say`Components that are known to be good`,
          example: 'battery',
          lookup: components,
        }),
      ),
    ),
    open: optional(
      choiceOption({ summary: say`How far it lies open now`, example: 'open', choices: accessLevels }),
    ),
    look: optional(
      choiceOption({
        summary: say`Nothing else is to be seen on it: not cracked, bent, lifted, dark or fogged`,
        example: 'nothing-else',
        choices: ['nothing-else'],
      }),
    ),
    trace: traceOption,
  },
  needs: [needs.openTrace],
  examples: [
    '/trace note open:open',
    '/trace note denied:"does not charge"',
    '/trace note shown:"no vibration" good:battery',
    '/trace note look:nothing-else',
  ],

  data: traceData,
  refuses: ['not-found', 'missing-option', 'wrong-state', 'unsafe'],
  run: ({ shown = [], denied = [], good = [], open, look, trace: number }, context) => {
    const trace = openTrace(context, number);
    const ids = (list: readonly { id: string }[]) => list.map(({ id }) => id);
    const unseen = look
      ? plainlyUnsaid(context, phoneOfTrace(context, trace), benchEventsOf(context, trace)).map(
          ({ id }) => id,
        )
      : [];
    const seen = ids(shown);
    if (!seen.length && !denied.length && !good.length && open === undefined && !look) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`There is nothing to write down.`,
        expected: say`one of shown:, denied:, good:, open:, look:`,
      });
    }
    recordSaid(
      context,
      { trace },
      {
        shown: seen,
        denied: [...ids(denied), ...unseen.filter((id) => !seen.includes(id))],
        good: ids(good),
        ...(open === undefined ? {} : { reached: open }),
      },
    );
    return settled(context, trace.number, []);
  },
});
