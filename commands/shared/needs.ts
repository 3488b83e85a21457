/** What an action needs to be there before it can do anything, and what is said first where it is not. */
import type { Need } from '../framework/command.ts';

/** Where nobody has named it, what it is is asked. */
const OPEN_JOB = '/job open "Orrin K3" came:given';
const START_TRACE = '/trace dead model:"Orrin K3"';

export const needs = {
  model: {
    kind: 'model',
    first: '/family name "Orrin K3" as:glued-front-home-sensor',
    there: ({ store }) => store.models.list().length > 0,
  },
  openJob: {
    kind: 'job',
    first: OPEN_JOB,
    there: ({ store }) => store.jobs.listOpen({ limit: 1 }).length > 0,
  },
  job: {
    kind: 'job',
    first: OPEN_JOB,
    there: ({ store }) => store.jobs.listOpen({ limit: 1 }).length + store.jobs.listEnded(1).length > 0,
  },
  endedJob: {
    kind: 'job',
    first: '/job finish handed-back',
    there: ({ store }) => store.jobs.listEnded(1).length > 0,
  },
  openTrace: { kind: 'trace', first: START_TRACE, there: ({ store }) => store.traces.listOpen().length > 0 },
  part: {
    kind: 'part',
    first: '/shelf add battery of:"Orrin K3" grade:copy price:14 place:"drawer B"',
    there: ({ store }) => store.shelf.list({ limit: 1 }).length > 0,
  },
  price: {
    kind: 'price',
    first: '/prices add "Orrin K3" price:180 how:sold condition:good storage:64',
    there: ({ store }) => store.sightings.list({ limit: 1 }).length > 0,
  },
  swapReport: {
    kind: 'report',
    first: '/swap battery effect:notice of:"Orrin K3" grade:used',
    there: ({ store }) => store.swaps.list({ limit: 1 }).length > 0,
  },
  note: {
    kind: 'note',
    first: '/note add "ask Moss about the long screws"',
    there: ({ store, person }) => store.notes.count(person.key) > 0,
  },
  reading: {
    kind: 'reading',
    first: '/reading add "Orrin K3" reading:"0.45 V battery 3"',
    there: ({ store }) => store.models.list().some(({ id }) => store.benchReadings.of(id).length > 0),
  },
  dangerSaid: {
    kind: 'danger',
    first: '/danger swollen job:12',
    there: ({ store }) =>
      store.jobs
        .listOpen()
        .some(({ number }) =>
          store.phoneEvents.list({ kind: 'job', number }).some(({ event }) => event.kind === 'fact'),
        ),
  },
} as const satisfies Readonly<Record<string, Need>>;
