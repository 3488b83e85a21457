/** Parts of the shelf, as several commands speak of them. */
import type { JobRecord } from '../../shared/jobs/job.ts';
import { whyDanger, whyNoWork } from '../../shared/jobs/rules.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, plain, say, verbatim } from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import { belongsIn, type ShelfMove, type ShelfPart, whyNotMove } from '../../shared/shelf/part.ts';
import type { Wanted } from '../../shared/store/index.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';
import type { DraftChoice } from '../framework/reply.ts';
import { cardsOfState } from './caution-cards.ts';
import { phoneOfJob } from './phone.ts';
import { stateOfJob } from './phone-state.ts';
import { componentName, partGradeWords } from './words.ts';

/** The part of a number; refuses where there is none. */
export function partMeant({ store }: Context, number: number): ShelfPart {
  const part = store.shelf.get(number);
  if (part) return part;
  throw new Refusal({
    code: 'not-found',
    problem: say`There is no part ${number} here.`,
    expected: say`a number from /shelf list`,
    option: 'part',
  });
}

/** Refuses where a move cannot be made from where the part is now. */
export function mustMove(part: ShelfPart, kind: ShelfMove['kind']): void {
  const obstacle = whyNotMove(part, kind);
  if (obstacle)
    throw new Refusal({
      code: 'wrong-state',
      problem: plain`${obstacle.problem}.`,
      expected: obstacle.expected,
      option: 'part',
      example: '/shelf list',
    });
}

/** "part 7: copy, 14.00, drawer B". */
export const partInWords = (part: ShelfPart): Message =>
  say`part ${part.number}: ${inRow([
    partGradeWords[part.grade],
    part.price ? amount(part.price) : '',
    part.place ? verbatim(part.place) : '',
  ])}`;

/** What lies on the shelf for a component of a job's phone, what lies longest first. */
export const partsFor = (
  context: Context,
  job: Pick<JobRecord, 'family' | 'model'>,
  component: string,
): ShelfPart[] =>
  context.store.shelf
    .list({ component, family: job.family, states: ['here'] })
    .filter((part) => belongsIn(part, job));

/** To take a part for a job, in one tap. */
export const takeChoice = (job: JobRecord, part: ShelfPart, label: Message): DraftChoice => ({
  label,
  invoke: {
    command: 'shelf',
    action: 'take',
    options: { part: String(part.number), job: String(job.number) },
  },
  subject: `job:${job.number}`,
  revision: job.revision,
  open: true,
});

/**
 * Takes a part for a job: it is fitted, and what was paid for it is the job's. One of two people who take the same part gets
 * it; the other is told who has it.
 */
export function takePart(context: Context, job: JobRecord, part: ShelfPart): JobRecord {
  const { store, now } = context;
  const phone = stateOfJob(context, job);
  const blocked = whyDanger(job, phone) ?? whyNoWork(job);
  if (blocked)
    throw new Refusal({
      code: phone.danger === 'none' ? 'wrong-state' : 'unsafe',
      problem: plain`${blocked.problem}.`,
      expected: blocked.expected,
      example: `/job show job:${job.number}`,
      cautions: cardsOfState(context, phone),
    });
  mustMove(part, 'taken');
  if (!belongsIn(part, job)) {
    const model = part.model === null ? undefined : store.models.get(part.model)?.name;
    throw new Refusal({
      code: 'bad-option',
      problem: say`Part ${part.number} is of another phone: ${verbatim(model ?? part.family)}.`,
      expected: say`a part for ${phoneOfJob(context, job).name}`,
      option: 'part',
      example: `/shelf list ${part.component}`,
    });
  }
  const hand = { by: actorOf(context), at: now };
  store.shelf.move(part.number, { kind: 'taken', job: job.number }, hand);
  const { component, grade, price, number } = part;
  return store.jobs.add(
    job.number,
    [
      { kind: 'fitted', component, grade, part: number },
      ...(price && price.minor > 0
        ? [
            {
              kind: 'money' as const,
              way: 'out' as const,
              amount: price,
              purpose: 'part' as const,
              component,
              grade,
              part: number,
            },
          ]
        : []),
    ],
    hand,
  );
}

/** Takes a part out of a phone again: its entries in the job are struck out, and it lies on the shelf. */
export function returnPart(context: Context, part: ShelfPart, place: string): JobRecord | null {
  const { store, now } = context;
  mustMove(part, 'back');
  const hand = { by: actorOf(context), at: now };
  const job = part.job === null ? null : store.jobs.get(part.job);
  if (!job) return null;
  if (job.ended)
    throw new Refusal({
      code: 'wrong-state',
      problem: say`Job ${job.number} is closed.`,
      expected: say`to reopen it first: /job reopen job:${job.number}`,
      option: 'part',
    });
  store.shelf.move(part.number, { kind: 'back', job: job.number, place }, hand);
  for (const { seq, entry, struck } of job.entries) {
    const own = (entry.kind === 'fitted' || entry.kind === 'money') && entry.part === part.number;
    if (own && !struck)
      store.jobs.strike(job.number, seq, hand, context.write(say`part ${part.number} was taken out again`));
  }
  return store.jobs.get(job.number);
}

/** What there is less of than is wanted; what is on order counts as coming. */
export function lowLines(context: Context): Message[] {
  const { store } = context;
  return store.shelf.wanted().flatMap(({ component, family, model, least }: Wanted) => {
    const of = { component, family, ...(model === null ? {} : { model }) };
    const here = store.shelf.list({ ...of, states: ['here'] }).length;
    const coming = store.shelf.list({ ...of, states: ['ordered'] }).length;
    if (here >= least) return [];
    const name = model === null ? undefined : store.models.get(model)?.name;
    return [
      say`${componentName(context, component)} of ${verbatim(name ?? family)}: ${here} here, ${coming} on order, ${least} wanted`,
    ];
  });
}
