/** Files of a reply on their way out, and attached files on their way in. */

import { Refusal } from '../../../commands/framework/refusal.ts';
import type { Reply, ReplyFile } from '../../../commands/framework/reply.ts';
import { MOST_FILE_BYTES, MOST_FILE_WORDS, textOfBytes } from '../../../shared/csv/text-file.ts';
import type { Message } from '../../../shared/language/message.ts';
import { render } from '../../../shared/language/render.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';
import { MOST_PHOTO_BYTES } from '../../../shared/photos/photo.ts';
import { photoText } from '../../draw/photo-text.ts';
import type { IncomingFile } from './incoming.ts';
import type { AttachedFile } from './outgoing.ts';

export type DrawFile = (file: ReplyFile) => Promise<Buffer>;

/** A name that any system takes, and that can stand in an `attachment://` address. */
const safeName = (name: string): string => name.replace(/[^\w.-]+/g, '-').replace(/^[.-]+/, '') || 'file';

/**
 * The files of a reply as bytes. One that cannot be drawn, or is larger than `limit` bytes, is left out, and a note says so with
 * its alternative text; `onFault` is told why.
 */
export async function makeFiles(
  reply: Reply,
  drawFile: DrawFile,
  limit: number,
  onFault: (error: unknown) => string,
): Promise<{ files: AttachedFile[]; notes: string[] }> {
  const files: AttachedFile[] = [];
  const notes: string[] = [];
  for (const [index, file] of reply.files.slice(0, 10).entries()) {
    try {
      const data = file.text === undefined ? await drawFile(file) : Buffer.from(file.text);
      if (data.length > limit)
        notes.push(render(say`${verbatim(file.name)} is too large for this channel. ${verbatim(file.alt)}`));
      else if (data.length) {
        const name = safeName(file.name);
        const taken = files.some((one) => one.name === name);
        files.push({
          name: taken ? `${index}-${name}` : name,
          data,
          description: file.alt.trim() || file.name,
        });
      } else notes.push(render(say`${verbatim(file.name)} is empty.`));
    } catch (error) {
      notes.push(
        render(
          say`${verbatim(file.name)} could not be drawn; the log has it under ${typed(onFault(error))}. ${verbatim(file.alt)}`,
        ),
      );
    }
  }
  return { files, notes };
}

const FETCH_MS = 10_000;
const TRIES = 3;

/** What is plainly not text by its name or by what the sender's client called it. */
function looksBinary({ name, type }: IncomingFile): boolean {
  const media = type?.split(';')[0]?.trim().toLowerCase();
  if (media?.startsWith('text/') || media === 'application/csv' || media === 'application/json') return false;
  if (/\.(csv|tsv|txt|json)$/i.test(name)) return false;
  // Some systems call a spreadsheet's CSV so.
  return media !== undefined && media !== 'application/vnd.ms-excel';
}

const refuse = (option: string, problem: Message): never => {
  throw new Refusal({
    code: 'bad-option',
    option,
    problem,
    expected: say`a text file, such as CSV, of at most ${typed(MOST_FILE_WORDS)}`,
  });
};

/** A photo, drawn anew: without place, device and time. Refusal when it is too large, is none, or cannot be fetched. */
export async function readPhoto(option: string, file: IncomingFile): Promise<string> {
  const no = (problem: Message): never => {
    throw new Refusal({
      code: 'bad-option',
      option,
      problem,
      expected: say`a photo, JPEG or PNG, of at most ${typed('12 MB')}`,
    });
  };
  if (file.size > MOST_PHOTO_BYTES)
    no(say`${verbatim(file.name)} has ${file.size} bytes, which are too many.`);
  const bytes = await fetchBytes(option, file, MOST_PHOTO_BYTES);
  return photoText(Buffer.from(bytes)) ?? no(say`${verbatim(file.name)} is no photo that can be read.`);
}

/** The text of an attached file. Refusal when it is too large, is no text, or cannot be fetched. */
export async function readAttachment(option: string, file: IncomingFile): Promise<string> {
  if (file.size > MOST_FILE_BYTES)
    refuse(option, say`${verbatim(file.name)} has ${file.size} bytes, which are too many.`);
  if (looksBinary(file))
    refuse(
      option,
      say`${verbatim(file.name)} is ${file.type === null ? say`something else` : verbatim(file.type)}, not text.`,
    );
  const bytes = await fetchBytes(option, file);
  return textOfBytes(bytes) ?? refuse(option, say`${verbatim(file.name)} is not text.`);
}

async function fetchBytes(
  option: string,
  { name, url }: IncomingFile,
  most = MOST_FILE_BYTES,
): Promise<Uint8Array> {
  for (let left = TRIES; left > 0; left -= 1) {
    try {
      const response = await fetch(url, { signal: AbortSignal.timeout(FETCH_MS) });
      if (response.status >= 500) continue;
      if (!response.ok || !response.body) break;
      // The size that was told need not be the size that comes.
      const chunks: Uint8Array[] = [];
      let size = 0;
      for await (const chunk of response.body) {
        size += chunk.length;
        if (size > most) return refuse(option, say`${verbatim(name)} has more than ${most} bytes.`);
        chunks.push(chunk);
      }
      return Buffer.concat(chunks);
    } catch (error) {
      if (error instanceof Refusal) throw error;
      // The socket was cut, or it took too long: once more.
    }
  }
  return refuse(option, say`${verbatim(name)} could not be fetched from Discord. Try again.`);
}
