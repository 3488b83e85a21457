/** What `/trace` answers, for a trace as it stands: which of the replies beside this file it is. */

import { nextStep } from '../../shared/diagnosis/sets/next-step.ts';
import type { TraceRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { opensFor } from './any-step.ts';
import { askCheck } from './check-step.ts';
import { openFirst } from './opening-step.ts';
import { proposeRemedy } from './remedy-step.ts';
import { dangerStep, dryFirst } from './safety-step.ts';
import type { TraceDraft } from './trace-data.ts';
import { traceDecisionOf } from './trace-decision.ts';
import { afterNewCell, allGone, ended, nothingElse, reasonedStop } from './trace-ends.ts';

/** The reply for a trace as it stands. `goOn`: the best step even where stopping is worth more. */
export function traceReply(context: Context, trace: TraceRecord, goOn = false): TraceDraft {
  const bench = traceDecisionOf(context, trace);
  if (trace.state === 'ended') return ended(bench);
  if (nothingElse(bench)) return afterNewCell(bench);
  const next = nextStep(bench.question, bench.found, goOn);
  switch (next.kind) {
    case 'danger':
      return dangerStep(bench);
    case 'check':
      if (opensFor(bench, next.check)) return openFirst(bench, next.plan, next.action, next.check);
      return askCheck(bench, next.plan, next.action, next.check, next.why);
    case 'remedy':
      if (opensFor(bench, next.remedy)) return openFirst(bench, next.plan, next.action, next.remedy);
      return proposeRemedy(bench, next.plan, next.action, next.remedy, next.first);
    case 'dry':
      return dryFirst(bench, next.plan);
    case 'done':
      return allGone(bench);
    case 'stop':
      return reasonedStop(bench, next.plan, 'stop');
  }
}
