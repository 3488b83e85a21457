/** The weekly post of the terminal: a Markdown file with its picture, named by the post's key. */
import { existsSync, mkdirSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Reply } from '../../../commands/framework/reply.ts';
import { drawFile } from '../../draw/draw-file.ts';
import { renderAsText } from '../text-render.ts';
import type { Poster } from '../weekly-poster.ts';
import { plainName } from './files.ts';

const WIDTH = 80;

/** Alternative text within its brackets. */
const plainAlt = (text: string): string =>
  text.replace(/[\\[\]]/g, (sign) => `\\${sign}`).replace(/\s+/g, ' ');

/** An indented block is shown as it stands, so that nothing a person typed becomes markup. */
const asIs = (text: string): string =>
  text
    .split('\n')
    .map((line) => (line ? `    ${line}` : ''))
    .join('\n');

/**
 * Posts into a folder. A file is there whole or not at all, and the text comes last: what has it has all. `told` hears of each
 * text that is written.
 */
export function filePoster(folder: string, told: (path: string) => void = () => undefined): Poster {
  const put = (name: string, bytes: Buffer | string): void => {
    const path = join(folder, name);
    // On the disk before it has its name: after a power cut it is whole, or not there.
    writeFileSync(`${path}.partial`, bytes, { mode: 0o600, flush: true });
    renameSync(`${path}.partial`, path);
  };
  const write = async (stem: string, reply: Reply): Promise<string> => {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    const shown: string[] = [];
    for (const [index, file] of reply.files.entries()) {
      const [ending = ''] = /\.[^.]*$/.exec(plainName(file.name)) ?? [];
      const name = `${stem}${index ? `-${index + 1}` : ''}${ending}`;
      put(name, await drawFile(file));
      shown.push(`![${plainAlt(file.alt)}](${name})\n`);
    }
    const text = renderAsText(reply, { width: WIDTH, colour: false });
    put(`${stem}.md`, `${[...shown, asIs(text)].join('\n').trimEnd()}\n`);
    told(join(folder, `${stem}.md`));
    return `${stem}.md`;
  };
  return {
    post: (key, reply) => write(plainName(key), reply),
    find: async (key) => {
      const name = `${plainName(key)}.md`;
      return existsSync(join(folder, name)) ? name : null;
    },
    edit: async (message, reply) => {
      await write(message.replace(/\.md$/, ''), reply);
    },
  };
}
