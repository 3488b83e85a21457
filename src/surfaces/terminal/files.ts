import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { codeOf } from '../../../commands/framework/internal-error.ts';
import type { Reply } from '../../../commands/framework/reply.ts';
import { render } from '../../../shared/language/render.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';
import { drawFile } from '../../draw/draw-file.ts';

/** A name without what a file system could read as a path or as hidden. */
export const plainName = (name: string): string =>
  name.replace(/[^\p{L}\p{N}._-]+/gu, '-').replace(/^\.+/, '') || 'file';

/** Writes the bytes to a new file, over no other; gives its path. */
function writeNew(folder: string, name: string, bytes: Buffer): string {
  const plain = plainName(name);
  const [, stem = plain, ending = ''] = /^(.+?)(\.[^.]*)?$/.exec(plain) ?? [];
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  for (let count = 1; ; count += 1) {
    const path = join(folder, `${stem}${count > 1 ? `-${count}` : ''}${ending}`);
    try {
      writeFileSync(path, bytes, { flag: 'wx', mode: 0o600 });
      return path;
    } catch (error) {
      if (codeOf(error) !== 'EEXIST' || count === 1000) throw error;
    }
  }
}

/**
 * Writes the files of a reply into a folder, drawn where they have to be, and says where they went. Without a folder it says
 * how to get them. `fault` logs what went wrong with a drawing and gives its id.
 */
export async function saveFiles(
  reply: Reply,
  folder: string | null,
  fault: (error: unknown) => string,
): Promise<string[]> {
  const notes: string[] = [];
  for (const file of reply.files) {
    const { name, alt } = file;
    if (folder === null) {
      notes.push(render(say`${verbatim(name)} goes with this: add --save DIR to keep it.`));
      continue;
    }
    try {
      const bytes = await drawFile(file);
      try {
        notes.push(render(say`Saved: ${verbatim(writeNew(folder, name, bytes))}`));
        if (file.draw) notes.push(render(say`It shows: ${verbatim(alt)}`));
      } catch (error) {
        notes.push(
          render(
            say`${verbatim(name)} could not be written to ${verbatim(folder)} (${typed(codeOf(error) || '?')}).`,
          ),
        );
      }
    } catch (error) {
      notes.push(
        render(say`${verbatim(name)} could not be drawn. The log has it under ${typed(fault(error))}.`),
      );
    }
  }
  return notes;
}
