import { mkdirSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { Reply } from '../../../commands/reply.ts';

/** Writes the files of a reply into a folder and says where they went. Without a folder it says how to get them. */
export function saveFiles(reply: Reply, folder: string | null): string[] {
  return reply.files.flatMap(({ name, text }) => {
    if (text === undefined) return [];
    if (folder === null) return [`${name} goes with this: add --save DIR to keep it.`];
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    const path = join(folder, basename(name));
    writeFileSync(path, text, { mode: 0o600 });
    return [`Saved: ${path}`];
  });
}
