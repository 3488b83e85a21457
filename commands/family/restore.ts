/** `/family restore`: what somebody changed about a model is taken back. */
import type { z } from 'zod';
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { integerOption, lookupOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply } from '../framework/reply.ts';
import { models } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { familyNameData } from './name.ts';
import { modelDataOf, versionsTable } from './reply.ts';

export const familyRestore = defineAction({
  summary: say`Take back what was changed about a model`,
  who: 'steward',
  options: {
    model: lookupOption({ lookup: models, summary: say`The model`, example: 'Orrin K3' }),
    version: optional(
      integerOption({
        summary: say`As it was in this version, from /family show; the newest when left out`,
        example: '1',
        min: 1,
        max: 1e6,
      }),
    ),
  },
  needs: [needs.model],
  examples: ['/family restore "Orrin K3"'],

  data: familyNameData,
  refuses: ['wrong-state'],
  run: ({ model: wanted, version: seq }, context) => {
    const { store, now } = context;
    const before = store.models.get(Number(wanted.id));
    if (!before) throw new Error(`model ${wanted.id} is gone`);
    const versions = store.models.versions(before.id);
    const chosen = seq === undefined ? versions[0] : versions.find((one) => one.seq === seq);
    if (!chosen) {
      throw new Refusal({
        code: seq === undefined ? 'wrong-state' : 'not-found',
        option: seq === undefined ? 'model' : 'version',
        problem:
          seq === undefined
            ? say`Nothing was changed about ${verbatim(before.name)}.`
            : say`${verbatim(before.name)} has no version ${seq}.`,
        expected: say`a model that was changed, and a number from /family show`,
      });
    }
    const { name, family, launched, newPrice } = chosen;
    const saved = store.models.save({ name, family, launched, newPrice, by: actorOf(context), at: now });
    return reply({
      tone: 'good',
      title: say`${verbatim(saved.name)} is again as ${verbatim(chosen.by.name)} had it`,
      blocks: versionsTable(context, saved),
      data: { saved: modelDataOf(saved), before: modelDataOf(before) } satisfies z.infer<
        typeof familyNameData
      >,
    });
  },
});
