import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Reply } from '../../../commands/reply.ts';

const codeOf = (error: unknown): string =>
  error instanceof Error && 'code' in error ? String(error.code) : '';

/** Writes the text to a new file, over no other; gives its path. */
function writeNew(folder: string, name: string, text: string): string {
  const plain = name.replace(/[^\p{L}\p{N}._-]+/gu, '-').replace(/^\.+/, '') || 'file';
  const [, stem = plain, ending = ''] = /^(.+?)(\.[^.]*)?$/.exec(plain) ?? [];
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  for (let count = 1; ; count += 1) {
    const path = join(folder, `${stem}${count > 1 ? `-${count}` : ''}${ending}`);
    try {
      writeFileSync(path, text, { flag: 'wx', mode: 0o600 });
      return path;
    } catch (error) {
      if (codeOf(error) !== 'EEXIST' || count === 1000) throw error;
    }
  }
}

/** Writes the files of a reply into a folder and says where they went. Without a folder it says how to get them. */
export function saveFiles(reply: Reply, folder: string | null): string[] {
  return reply.files.flatMap(({ name, text }) => {
    if (text === undefined) return [];
    if (folder === null) return [`${name} goes with this: add --save DIR to keep it.`];
    try {
      return [`Saved: ${writeNew(folder, name, text)}`];
    } catch (error) {
      return [`${name} could not be written to ${folder} (${codeOf(error)}).`];
    }
  });
}
