/** What the bot holds about the asker: theirs to take away, and to have erased. */
import { z } from 'zod';
import { csvOf, guardFormula } from '../shared/csv/csv.ts';
import { counted, listWords, say, translated } from '../shared/language/say.ts';
import { moneySchema, toWire } from '../shared/money/money.ts';
import { isoDateIn } from '../shared/pairing/law.ts';
import {
  byNameOnly,
  GONE,
  type Held,
  type HeldKind,
  type HeldRow,
  heldKinds,
} from '../shared/store/index.ts';
import { defineAction, defineCommand } from './command.ts';
import type { Context } from './context.ts';
import { choiceOption, optional } from './option.ts';
import { withoutEcho } from './private.ts';
import { type Reply, reply, steps, table, text } from './reply.ts';

const counts = z.record(z.enum(heldKinds), z.number().int());
export const mydataExportData = z.object({ held: counts, files: z.array(z.string()) });
export const mydataEraseData = z.object({
  erased: z.boolean(),
  held: counts,
  /** Records that carry a name which somebody else goes by too, and stay under it. */
  left: z.number().int(),
});

const cell = z.union([z.string(), z.number(), z.null()]);
/** The JSON file of an export. */
export const mydataFile = z.object({
  collective: z.string(),
  exported: z.iso.datetime(),
  names: z.array(z.string()),
  remarks: z.array(z.string()),
  held: z.record(z.enum(heldKinds), z.array(z.record(z.string(), z.unknown()))),
});

const kindWords: Readonly<Record<HeldKind, string>> = {
  person: 'Your row among the people here',
  notes: 'Private notes',
  choices: 'Choices offered to you',
  'link-words': 'Words that tie places together',
  jobs: 'Jobs that you opened or hold',
  'job-entries': 'Entries in jobs, struck out ones too',
  'phone-events': 'What you said of the state of a phone',
  prices: 'Prices seen',
  'swap-reports': 'Swap reports',
  traces: 'Traces under your name',
  'trace-steps': 'Steps in traces under your name',
  named: 'Other records under your name',
};
/** Those that go with an erasure; the rest stays without name and key. */
const going: readonly HeldKind[] = ['person', 'notes', 'choices', 'link-words'];
/** In the JSON file alone, so that no message has more files than a chat platform takes. */
const jsonOnly: readonly HeldKind[] = ['person', 'link-words', 'phone-events'];

const countsOf = ({ rows }: Held): z.infer<typeof counts> =>
  counts.parse(Object.fromEntries(heldKinds.map((kind) => [kind, rows[kind].length])));

/** Columns that hold JSON. */
const jsonColumns: readonly string[] = ['entry', 'event', 'symptoms', 'invoke'];

/** A row as people read it: amounts in major units, notes that cannot be opened said to be so. */
function readable(kind: HeldKind, row: HeldRow): HeldRow {
  const read = moneySchema.safeParse({ minor: row.price, currency: row.currency });
  return {
    ...row,
    ...(read.success ? { price: toWire(read.data).amount } : {}),
    ...(kind === 'notes' && row.text === null ? { text: say`(sealed under a key that is not here)` } : {}),
  };
}

/** JSON within a row, with amounts as `{amount, currency}`. */
const parsed = (value: z.infer<typeof cell>): unknown =>
  JSON.parse(String(value), (_, inner: unknown) => {
    const read = moneySchema.strict().safeParse(inner);
    return read.success ? toWire(read.data) : inner;
  });

const opened = (row: HeldRow): Record<string, unknown> =>
  Object.fromEntries(
    Object.entries(row).map(([name, value]) => [
      name,
      jsonColumns.includes(name) && value !== null ? parsed(value) : value,
    ]),
  );

function csvFor(rows: readonly HeldRow[]): string {
  const header = Object.keys(rows[0] ?? {});
  return csvOf(
    header,
    rows.map((row) => header.map((name) => guardFormula(String(row[name] ?? '')))),
  );
}

function remarks({ names, shared }: Held): string[] {
  return [
    say`Traces, their steps, model names and what was struck out carry a name and no key; they were found by: ${names.join(', ')}.`,
    ...(shared.length
      ? [say`Somebody else here goes by ${listWords(shared)} too, so some of these may be theirs.`]
      : []),
    say`Of an IMEI, the last four digits are here; the phone is not yours alone.`,
    say`Replies are kept sealed for 7 days, against double delivery, without saying whose they are. Replies to private commands are not kept.`,
  ];
}

const exportAll = defineAction({
  summary: 'Everything the bot holds about you, as files',
  where: 'direct',
  options: {},
  examples: ['/mydata export'],
  run: (_, context) => {
    const { store, person, collective, now } = context;
    const held = store.personData.read(person.key, person.name);
    const day = isoDateIn(collective.settings.zone, now);
    const shown = heldKinds.map((kind) => [kind, held.rows[kind].map((row) => readable(kind, row))] as const);
    const whole = mydataFile.parse({
      collective: collective.name,
      exported: now.toISOString(),
      names: held.names,
      remarks: remarks(held),
      held: Object.fromEntries(shown.map(([kind, rows]) => [kind, rows.map(opened)])),
    });
    const files = [
      {
        name: `mydata-${day}.json`,
        mime: 'application/json',
        alt: say`Everything held about you, as JSON`,
        text: `${JSON.stringify(whole, null, 2)}\n`,
      },
      ...shown
        .filter(([kind, rows]) => rows.length > 0 && !jsonOnly.includes(kind))
        .map(([kind, rows]) => ({
          name: `mydata-${day}-${kind}.csv`,
          mime: 'text/csv',
          alt: say`${translated(kindWords[kind])}, as CSV`,
          text: csvFor(rows),
        })),
    ];
    return reply({
      audience: 'asker',
      title: say`What ${collective.name} holds about you`,
      blocks: [heldTable(held), text(remarks(held).join(' ')), text(say`Have it erased: /mydata erase`)],
      files,
      data: {
        held: countsOf(held),
        files: files.map(({ name }) => name),
      } satisfies z.infer<typeof mydataExportData>,
    });
  },
});

const heldTable = ({ rows }: Held) =>
  table(
    [say`What`, say`>How many`],
    heldKinds.map((kind) => [translated(kindWords[kind]), String(rows[kind].length)]),
  );

/** What an erasure takes and what it leaves, before it is done. */
function preview(held: Held, { collective }: Context): Reply {
  const lines = (kinds: readonly HeldKind[]) =>
    kinds
      .filter((kind) => held.rows[kind].length)
      .map((kind) => `${translated(kindWords[kind])}: ${held.rows[kind].length}`);
  const goes = lines(going);
  const staying = heldKinds.filter((kind) => !going.includes(kind));
  const stays = lines(staying);
  return reply({
    audience: 'asker',
    tone: 'caution',
    title: say`This cannot be undone. Erase what is held about you?`,
    blocks: [
      ...(goes.length ? [steps(goes, say`This goes`, false)] : [text(say`Nothing of yours alone is held.`)]),
      ...(stays.length
        ? [
            steps(stays, say`This stays, without you`, false),
            text(
              say`${collective.name}'s accounts, prices and fault odds rest on it, and others worked from it. Your name in it becomes "${GONE}", and your key a random one in each record, so that nobody can tell that they were one person's.`,
            ),
          ]
        : []),
      ...(held.rows.traces.length || held.rows['trace-steps'].length || held.rows.named.length
        ? [
            text(
              held.shared.length
                ? say`${listWords(byNameOnly.map((kind) => `"${translated(kindWords[kind])}"`))} carry a name only. Somebody else here goes by ${listWords(held.shared)} too, so what stands under that stays as it is.`
                : say`${listWords(byNameOnly.map((kind) => `"${translated(kindWords[kind])}"`))} carry a name only; they are found by ${listWords(held.names)}.`,
            ),
          ]
        : []),
      text(
        say`Out of reach: what people wrote about you in their own words, weekly posts of more than eight weeks ago where they stand, the platform’s own messages and rooms, copies of the store made before, and sealed replies, which go within 7 days.`,
      ),
      ...(held.holding.length
        ? [
            text(
              say`You still hold ${listWords(held.holding.map((number) => say`job #${number}`))}. Hand over first, or nobody is asked about it: /job hand`,
            ),
          ]
        : []),
      text(say`Keep a copy first: /mydata export`),
    ],
    choices: [
      { label: say`Erase it`, invoke: { command: 'mydata', action: 'erase', options: { sure: 'yes' } } },
    ],
    data: { erased: false, held: countsOf(held), left: 0 } satisfies z.infer<typeof mydataEraseData>,
  });
}

const eraseAll = defineAction({
  summary: 'Erase what is held about you; without sure:yes it says what goes and what stays',
  where: 'direct',
  options: {
    sure: optional(
      withoutEcho(
        choiceOption({ choices: ['yes'], summary: 'Say yes to do it; it cannot be undone', example: 'yes' }),
      ),
    ),
  },
  examples: ['/mydata erase', '/mydata erase sure:yes'],
  run: ({ sure }, context) => {
    const { store, person } = context;
    const held = store.personData.read(person.key, person.name);
    if (!sure) return preview(held, context);
    const { left } = store.personData.erase(person.key, person.name);
    return reply({
      audience: 'asker',
      tone: 'good',
      title: say`What was held about you is erased`,
      blocks: [
        text(say`What stays says "${GONE}". If you say anything here again, you are new.`),
        ...(left
          ? [
              text(
                counted(
                  left,
                  '{0} record carries the name {1} without a key. Somebody else here goes by it too, so it stays.',
                  '{0} records carry the name {1} without a key. Somebody else here goes by it too, so they stay.',
                  listWords(held.shared),
                ),
              ),
            ]
          : []),
        text(
          say`Copies of the store made before still have it. Whoever runs the bot can make a new one and drop those.`,
        ),
      ],
      data: { erased: true, held: countsOf(held), left } satisfies z.infer<typeof mydataEraseData>,
    });
  },
});

export const mydata = defineCommand({
  name: 'mydata',
  summary: 'What the bot holds about you: take it away, or have it erased',
  main: 'export',
  actions: { export: exportAll, erase: eraseAll },
});
