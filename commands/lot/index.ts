/** `/lot`: several phones at one price. */
import { say, typed } from '../../shared/language/say.ts';
import { toMajor } from '../../shared/money/money.ts';
import { type LotPhone, lotAdvice } from '../../shared/worth/lot.ts';
import { defineSimpleCommand } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { fileOption, moneyOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { type AppraisedPhone, appraisePhone } from '../shared/appraise-phone.ts';
import { gradeOf } from '../shared/phone.ts';
import { LOT_COLUMNS, type LotRowAsked, rowsOfFile, typedRows } from './lot-rows.ts';
import { lotData, lotReply } from './reply.ts';

/** Each row appraised; rows that are alike once. */
function appraisedRows(
  rows: readonly LotRowAsked[],
  context: Context,
): { row: LotRowAsked; appraised: AppraisedPhone }[] {
  const keyOf = ({ phone, symptoms, damage, condition, storageGb }: LotRowAsked) =>
    JSON.stringify([phone.family.id, phone.model?.id, symptoms, damage, condition, storageGb]);
  const ofMany = new Set(rows.map(keyOf)).size;
  const known = new Map<string, AppraisedPhone>();
  return rows.map((row) => {
    const { phone, symptoms, damage, condition, storageGb } = row;
    const key = keyOf(row);
    const appraised =
      known.get(key) ??
      appraisePhone(context, phone, {
        ...{ price: 0, grade: gradeOf(condition), symptoms, damage, ofMany },
        ...(storageGb === null ? {} : { storageGb }),
      });
    known.set(key, appraised);
    return { row, appraised };
  });
}

export const lot = defineSimpleCommand({
  name: 'lot',
  summary: say`Several phones at one price: what the whole leaves, what each adds, and what to bid`,
  options: {
    phones: optional(
      textOption({
        max: 2000,
        summary: say`The phones, separated by semicolons: model and what is seen`,
        example: 'Orrin K3 dead; 3x Orrin K3 no charge',
      }),
    ),
    price: optional(moneyOption({ summary: say`Price asked for the whole`, example: '120' })),
    file: optional(
      fileOption({
        summary: say`Or a CSV file with the header ${typed(LOT_COLUMNS.join())}`,
        example: 'lot.csv',
      }),
    ),
  },
  refuses: ['not-found', 'missing-option', 'bad-option', 'wrong-state'],
  examples: ['/lot "Orrin K3 dead; 3x Orrin K3 no charge" price:120'],

  data: lotData,
  run: ({ phones, price, file }, context, texts) => {
    if ((phones === undefined) === (file === undefined)) {
      throw new Refusal({
        code: 'missing-option',
        problem: phones === undefined ? say`Which phones are they?` : say`Phones are given twice.`,
        expected: say`phones:, or a file`,
        option: phones === undefined ? 'phones' : 'file',
      });
    }
    const rows = file === undefined ? typedRows(phones ?? '', context, texts) : rowsOfFile(file, context);
    const appraised = appraisedRows(rows, context);
    const [first] = appraised;
    if (!first) throw new Error('a lot without rows');
    const asked = price ? toMajor(price) : 0;
    const advice = lotAdvice({
      phones: appraised.map(
        ({ row, appraised: { result, economics } }, i): LotPhone => ({
          name: String(i),
          plans: result.plans,
          priced: result.verdict !== null,
          count: row.count,
          cap: economics.cap,
        }),
      ),
      stance: first.appraised.result.stance,
      price: asked,
    });
    return lotReply(context, appraised, advice, price ? asked : null);
  },
});
