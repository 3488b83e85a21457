/** `/job returns`: what failed again, by part, grade and supplier, and what lasts. */
import { z } from 'zod';
import { type PartGrade, partGrades } from '../../knowledge/schema.ts';
import { FEWEST_WATCHED, lastingOf } from '../../shared/jobs/survival.ts';
import { counted, plain, say, verbatim } from '../../shared/language/say.ts';
import type { Fitting } from '../../shared/store/fittings.ts';
import { defineAction } from '../framework/command.ts';
import { lookupOption, optional } from '../framework/option.ts';
import { reply, right, table, text } from '../framework/reply.ts';
import { isWithin, tooFew, watchedOf } from '../shared/lasting.ts';
import { components } from '../shared/lookups.ts';
import { componentName, partGradeWords, percent } from '../shared/words.ts';

export const jobReturnsData = z.object({
  parts: z.array(
    z.object({
      component: z.string(),
      grade: z.enum(partGrades),
      supplier: z.string(),
      fitted: z.number().int(),
      failed: z.number().int(),
      /** Of those that failed. */
      within: z.number().int(),
      /** Share that lasts longer than so many days, with its 95 % interval; null while there is too little. */
      lasts: z
        .object({ days: z.number().int(), share: z.number(), low: z.number(), high: z.number() })
        .nullable(),
    }),
  ),
  fitted: z.number().int(),
  failed: z.number().int(),
});

const SHOWN = 20;

interface Group {
  component: string;
  grade: PartGrade;
  supplier: string;
  own: Fitting[];
}

/** By component, grade and supplier. */
function grouped(fittings: readonly Fitting[]): Group[] {
  const groups = new Map<string, Group>();
  for (const one of fittings) {
    const { component, grade, supplier } = one;
    const key = JSON.stringify([component, grade, supplier]);
    const group = groups.get(key) ?? { component, grade, supplier, own: [] };
    group.own.push(one);
    groups.set(key, group);
  }
  return [...groups.values()];
}

export const jobReturns = defineAction({
  summary: say`What failed again of what was fitted, by part, grade and supplier, and how long it lasts`,
  options: {
    component: optional(
      lookupOption({ summary: say`Only this component`, example: 'battery', lookup: components }),
    ),
  },
  examples: ['/job returns', '/job returns battery'],

  data: jobReturnsData,
  run: ({ component }, context) => {
    const { store, now } = context;
    const fittings = component ? store.fittings.of(component.id) : store.fittings.list();
    const failedOf = (own: readonly Fitting[]) => own.filter((one) => one.failed !== null);
    const parts = grouped(fittings)
      .map(({ own, ...part }) => {
        const lasts = lastingOf(own.map((one) => watchedOf(one, now)));
        return {
          ...part,
          fitted: own.length,
          failed: failedOf(own).length,
          within: failedOf(own).filter((one) => one.failed && isWithin(one, one.failed)).length,
          lasts: lasts && { days: lasts.days, share: lasts.lasts, low: lasts.low, high: lasts.high },
        };
      })
      .sort((a, b) => b.failed - a.failed || b.fitted - a.fitted || (a.component < b.component ? -1 : 1));
    const failed = failedOf(fittings).length;
    return reply({
      title: fittings.length
        ? counted(
            failed,
            '{0} of {1} parts that were fitted failed again',
            '{0} of {1} parts that were fitted failed again',
            fittings.length,
          )
        : say`Nothing that was fitted is out with a next owner yet`,
      blocks: parts.length
        ? [
            table(
              [
                say`Part`,
                say`Grade`,
                say`From`,
                right(say`Fitted`),
                right(say`Failed again`),
                right(say`Within the promise`),
                say`Lasts`,
              ],
              parts
                .slice(0, SHOWN)
                .map((part) => [
                  componentName(context, part.component),
                  partGradeWords[part.grade],
                  part.supplier ? verbatim(part.supplier) : '',
                  plain`${part.fitted}`,
                  plain`${part.failed}`,
                  plain`${part.within}`,
                  part.lasts
                    ? say`${percent(part.lasts.share)} (${percent(part.lasts.low)} to ${percent(part.lasts.high)}) last ${part.lasts.days} days`
                    : tooFew,
                ]),
            ),
            text(
              say`What nobody brought back is taken to hold, until today or until its promise ends. A figure is given from ${FEWEST_WATCHED} of a kind on, with its 95 % interval.`,
            ),
          ]
        : [text(say`A phone that comes back is told by /job returned and its job.`)],
      data: { parts, fitted: fittings.length, failed },
    });
  },
});
