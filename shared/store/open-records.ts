/** Records of other benches that were read in. Nobody's names. */
import { z } from 'zod';
import {
  type OpenRecord,
  openRecordSchema,
  type RepairStatus,
  repairStatuses,
} from '../records/open-record.ts';
import { jsonColumn, type Sql } from './sql.ts';

const row = z.object({ record: jsonColumn(openRecordSchema) });
const countRow = z.object({ provider: z.string(), status: z.enum(repairStatuses), n: z.number().int() });

export interface OpenRecords {
  /** False where a record with that id of that provider is here already: the first one stays. */
  add(record: OpenRecord): boolean;
  /** In the order of provider and id. */
  list(limit?: number): OpenRecord[];
  counts(): { provider: string; status: RepairStatus; n: number }[];
}

export const openRecordsOf = (sql: Sql, collective: number): OpenRecords => ({
  add: (record) =>
    sql.run(
      'INSERT OR IGNORE INTO open_records (collective, provider, id, status, record) VALUES (?, ?, ?, ?, ?)',
      collective,
      record.data_provider,
      record.id,
      record.repair_status,
      JSON.stringify(openRecordSchema.parse(record)),
    ) > 0,
  list: (limit = 1000) =>
    sql
      .all(
        row,
        'SELECT record FROM open_records WHERE collective = ? ORDER BY provider, id LIMIT ?',
        collective,
        limit,
      )
      .map(({ record }) => record),
  counts: () =>
    sql.all(
      countRow,
      'SELECT provider, status, count(*) AS n FROM open_records WHERE collective = ? GROUP BY provider, status ORDER BY provider, status',
      collective,
    ),
});
