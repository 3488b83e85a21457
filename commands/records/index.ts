/** `/records`: finished repairs for anybody, in the columns of an open standard; and those of others. */
import { say } from '../../shared/language/say.ts';
import { defineCommand } from '../framework/command.ts';
import { recordsExport } from './export.ts';
import { recordsImport } from './import.ts';
import { recordsList } from './list.ts';
import { recordsPreview } from './preview.ts';

export const records = defineCommand({
  name: 'records',
  summary: say`Finished repairs as open records: see what would go out, make the file, read in those of others`,
  main: 'preview',
  actions: {
    preview: recordsPreview,
    export: recordsExport,
    import: recordsImport,
    list: recordsList,
  },
});
