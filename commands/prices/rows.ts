/** A price as a row of the CSV file, and back. */

import { partGrades } from '../../knowledge/schema.ts';
import type { SightingRow } from '../../shared/market/sightings-csv.ts';
import type { NewSighting, SightingRecord } from '../../shared/store/index.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { components } from '../shared/lookups.ts';

/** A part in a file is written with its grade: "Battery (copy)". */
const partCell = /^(.+?)\s*\((original|refurbished|copy|used)\)$/;

export function partIn(
  cell: string,
  context: Context,
): { component: string; partGrade: (typeof partGrades)[number] } | null {
  const [, name = '', word = ''] = partCell.exec(cell.trim()) ?? [];
  const component = components.find(name, components.entries(context));
  const partGrade = partGrades.find((grade) => grade === word);
  return component && partGrade ? { component: component.id, partGrade } : null;
}

export function csvRowOf(
  context: Context,
  names: ReadonlyMap<number, string>,
  one: SightingRecord,
): SightingRow {
  const shared = {
    date: one.seen,
    what: names.get(one.model) ?? String(one.model),
    price: one.price,
    how: one.how,
    note: one.note,
  };
  return one.component === null
    ? { ...shared, kind: 'phone', grade: one.grade ?? 0, storage: one.storage }
    : {
        ...shared,
        kind: 'part',
        component: `${context.knowledge.components.get(one.component)?.name ?? one.component} (${one.partGrade})`,
      };
}

export function sightingOf(context: Context, row: SightingRow): NewSighting {
  const { store, now } = context;
  const model = store.models.findByName(row.what);
  const part = row.kind === 'part' ? partIn(row.component, context) : null;
  if (!model || (row.kind === 'part' && !part)) throw new Error('the row was not checked');
  return {
    kind: row.kind,
    model: model.id,
    component: part?.component ?? null,
    partGrade: part?.partGrade ?? null,
    grade: row.kind === 'phone' ? row.grade : null,
    storage: row.kind === 'phone' ? row.storage : null,
    price: row.price,
    how: row.how,
    seen: row.date,
    note: row.note,
    by: actorOf(context),
    at: now,
  };
}

/** Two sightings with the same key say the same. */
export const sameKey = ({
  kind,
  model,
  component,
  partGrade,
  grade,
  storage,
  price,
  how,
  seen,
  note,
}: NewSighting) =>
  JSON.stringify([kind, model, component, partGrade, grade, storage, price.minor, how, seen, note]);
