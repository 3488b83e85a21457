import { z } from 'zod';
import { csvOf, guardFormula } from '../../shared/csv/csv.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, joined, listWords, say, verbatim } from '../../shared/language/say.ts';
import { moneySchema, toWire } from '../../shared/money/money.ts';
import { actorSchema } from '../../shared/people/actor.ts';
import { type Held, type HeldKind, type HeldRow, heldKinds } from '../../shared/store/index.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { reply, text } from '../framework/reply.ts';
import { counts, countsOf, heldTable, kindWords } from './held.ts';

export const mydataExportData = z.object({ held: counts, files: z.array(z.string()) });

const cell = z.union([z.string(), z.number(), z.null()]);
/** The JSON file of an export. */
export const mydataFile = z.object({
  collective: z.string(),
  exported: z.iso.datetime(),
  names: z.array(z.string()),
  remarks: z.array(z.string()),
  held: z.record(z.enum(heldKinds), z.array(z.record(z.string(), z.unknown()))),
});

/** In the JSON file alone, so that no message has more files than a chat platform takes. */
const jsonOnly: readonly HeldKind[] = [
  'person',
  'link-words',
  'phone-events',
  'cautions-shown',
  'messages-shown',
  'shelf-parts',
  'shelf-moves',
  'photos',
];

/** Columns that hold JSON. */
const jsonColumns: readonly string[] = ['entry', 'event', 'move', 'symptoms', 'invoke'];

/** A row as people read it: amounts in major units, notes that cannot be opened said to be so. */
function readable(kind: HeldKind, row: HeldRow, { write }: Context): HeldRow {
  const read = moneySchema.safeParse({ minor: row.price, currency: row.currency });
  return {
    ...row,
    ...(read.success ? { price: toWire(read.data).amount } : {}),
    ...(typeof row.entry === 'string' ? { entry: JSON.stringify(JSON.parse(row.entry, namesOnly)) } : {}),
    ...(kind === 'notes' && row.text === null
      ? { text: write(say`(sealed under a key that is not here)`) }
      : {}),
  };
}

/** Somebody else's key is theirs: who is named in an entry is named, and no more. */
const namesOnly = (_: string, inner: unknown): unknown => {
  const read = actorSchema.strict().safeParse(inner);
  return read.success ? read.data.name : inner;
};

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

function remarks({ unkeyed }: Held): Message[] {
  return [
    ...(unkeyed.records
      ? [
          counted(
            unkeyed.records,
            '{0} older record carries the name {1} without a key. Whose it is cannot be told, so it is not in here.',
            '{0} older records carry the name {1} without a key. Whose they are cannot be told, so they are not in here.',
            listWords(unkeyed.names.map((one) => verbatim(one))),
          ),
        ]
      : []),
    say`Of an IMEI, the last four digits are here; the phone is not yours alone.`,
    say`Replies are kept sealed for 7 days, against double delivery, without saying whose they are. Replies to private commands are not kept.`,
  ];
}

export const mydataExport = defineAction({
  summary: say`Everything the bot holds about you, as files`,
  where: 'direct',
  options: {},
  examples: ['/mydata export'],

  data: mydataExportData,
  run: (_, context) => {
    const { store, person, collective, now } = context;
    const held = store.personData.read(person.key, person.name);
    const day = isoDateIn(collective.settings.zone, now);
    const shown = heldKinds.map(
      (kind) => [kind, held.rows[kind].map((row) => readable(kind, row, context))] as const,
    );
    const whole = mydataFile.parse({
      collective: collective.name,
      exported: now.toISOString(),
      names: held.names,
      remarks: remarks(held).map(context.write),
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
          alt: say`${kindWords[kind]}, as CSV`,
          text: csvFor(rows),
        })),
    ];
    return reply({
      audience: 'asker',
      title: say`What ${verbatim(collective.name)} holds about you`,
      blocks: [heldTable(held), text(joined(remarks(held))), text(say`Have it erased: /mydata erase`)],
      files,
      data: {
        held: countsOf(held),
        files: files.map(({ name }) => name),
      } satisfies z.infer<typeof mydataExportData>,
    });
  },
});
