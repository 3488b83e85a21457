/** Text files that come with a command: with the command as their caption, or answered with the command. */

import { z } from 'zod';
import type { Command } from '../../../commands/framework/command.ts';
import { parseLine } from '../../../commands/framework/parse.ts';
import { Refusal } from '../../../commands/framework/refusal.ts';
import type { Invocation } from '../../../commands/framework/reply.ts';
import { MOST_FILE_BYTES, MOST_FILE_WORDS, textOfBytes } from '../../../shared/csv/text-file.ts';
import type { Message } from '../../../shared/language/message.ts';
import { plain, say, typed } from '../../../shared/language/say.ts';
import { MOST_PHOTO_BYTES } from '../../../shared/photos/photo.ts';
import { photoText } from '../../draw/photo-text.ts';
import type { MatrixConnection } from './client.ts';
import { type Attachment, attachmentOf, type Heard } from './events.ts';
import { download, TooLarge } from './http.ts';
import { networkErrorOf } from './network-error.ts';
import type { SealedRooms } from './sealed-rooms.ts';

/** The address of a file (specification, "Matrix Content (mxc://) URIs"). */
const MXC = /^mxc:\/\/([^/?#]+)\/([\w-]+)$/;

export interface Attachments {
  /**
   * The command with the file's text in its file option; null when it takes none. Throws Refusal where it needs one and there
   * is none, or one that is no text.
   */
  invocation(
    room: string,
    message: Extract<Heard, { kind: 'message' }>,
    line: string,
  ): Promise<{ invoke: Invocation } | null>;
}

const eventSchema = z.object({ content: z.unknown() });
const pageSchema = z.object({ chunk: z.array(z.looseObject({})).catch([]) });

export interface AttachmentsParts {
  connection: () => MatrixConnection;
  sealedRooms: SealedRooms;
  commands: readonly Command[];
}

async function answeredFile(
  parts: AttachmentsParts,
  room: string,
  eventId: string,
): Promise<Attachment | null> {
  const { connection, sealedRooms } = parts;
  try {
    const path = ['rooms', room, 'event', eventId].map(encodeURIComponent).join('/');
    const event: unknown = await connection().doRequest('GET', `/_matrix/client/v3/${path}`);
    const read = eventSchema.safeParse(await sealedRooms.open(room, z.looseObject({}).parse(event)));
    return attachmentOf(read.data?.content);
  } catch (error) {
    if (networkErrorOf(error).kind === 'refused') return null;
    throw error;
  }
}

/** The newest file in a thread, or at its root. */
async function fileInThread(parts: AttachmentsParts, room: string, root: string): Promise<Attachment | null> {
  const { connection, sealedRooms } = parts;
  const path = ['rooms', room, 'relations', root, 'm.thread'].map(encodeURIComponent).join('/');
  try {
    const page: unknown = await connection().doRequest('GET', `/_matrix/client/v1/${path}`, { limit: 50 });
    for (const event of pageSchema.parse(page).chunk) {
      const found = attachmentOf(eventSchema.safeParse(await sealedRooms.open(room, event)).data?.content);
      if (found) return found;
    }
  } catch (error) {
    if (networkErrorOf(error).kind !== 'refused') throw error;
  }
  return answeredFile(parts, room, root);
}

/** The file that a message answers, or that stands in its thread. */
async function fileMeant(
  parts: AttachmentsParts,
  room: string,
  { replyTo, thread }: Extract<Heard, { kind: 'message' }>,
): Promise<Attachment | null> {
  const answered = replyTo === null ? null : await answeredFile(parts, room, replyTo);
  return answered ?? (thread === null ? null : fileInThread(parts, room, thread));
}

async function bytesOf(parts: AttachmentsParts, { url, sealed }: Attachment, most: number): Promise<Buffer> {
  const { connection, sealedRooms } = parts;
  const info = sealed === null ? null : sealedInfo(sealed);
  const [, server, media] = MXC.exec(info?.url ?? url ?? '') ?? [];
  if (server === undefined || media === undefined)
    throw new Refusal({
      code: 'bad-option',
      problem: say`That file stands at no address of this network.`,
    });
  const { homeserverUrl, accessToken } = connection();
  const path = ['download', server, media].map(encodeURIComponent).join('/');
  const bytes = await download(`${homeserverUrl}/_matrix/client/v1/media/${path}`, accessToken, most);
  if (!info) return bytes;
  return openedFile(sealedRooms, bytes, info) ?? refuseSealed();
}

export function attachmentsOf(parts: AttachmentsParts): Attachments {
  const { commands } = parts;

  return {
    invocation: async (room, message, line) => {
      let parsed: Invocation;
      try {
        parsed = parseLine(line, commands);
      } catch (error) {
        if (error instanceof Refusal) return null;
        throw error;
      }
      const options =
        commands.find(({ name }) => name === parsed.command)?.actions[parsed.action]?.options ?? {};
      const [name, option] = Object.entries(options).find(([, { wire }]) => wire.type === 'file') ?? [];
      if (name === undefined || !option) return null;
      const isPhoto = option.wire.type === 'file' && option.wire.photo === true;
      const attached = message.attachment ?? (await fileMeant(parts, room, message));
      if (!attached) {
        // A name typed in its place names nothing that the bot could open.
        if (parsed.options[name] === undefined && !option.required) return null;
        throw new Refusal({
          code: 'missing-option',
          problem: say`There is no file with that.`,
          expected: say`a file with this command as its caption, or this command in answer to a file`,
        });
      }
      return {
        invoke: {
          ...invocation(parsed),
          options: {
            ...parsed.options,
            [name]: await textOf(attached, (one, most) => bytesOf(parts, one, most), isPhoto),
          },
        },
      };
    },
  };
}

const invocation = ({ command, action, options }: Invocation): Invocation => ({ command, action, options });

const sealedSchema = z.looseObject({
  url: z.string(),
  key: z.object({
    kty: z.literal('oct'),
    key_ops: z.array(z.string()),
    alg: z.literal('A256CTR'),
    k: z.string(),
    ext: z.literal(true),
  }),
  iv: z.string(),
  hashes: z.object({ sha256: z.string() }),
  v: z.literal('v2'),
});

function refuseSealed(): never {
  throw new Refusal({ code: 'bad-option', problem: say`That file is encrypted, and I cannot read it.` });
}

/** How a file is encrypted; refuses what the specification does not say. */
function sealedInfo(sealed: unknown): z.infer<typeof sealedSchema> {
  const read = sealedSchema.safeParse(sealed);
  return read.success ? read.data : refuseSealed();
}

/** Null where there is no encryption here, or the bytes are not what the message says. */
function openedFile(sealedRooms: SealedRooms, bytes: Buffer, info: object): Buffer | null {
  try {
    return sealedRooms.openFile(bytes, info);
  } catch {
    return null;
  }
}

async function textOf(
  attached: Attachment,
  bytesOf: (attached: Attachment, most: number) => Promise<Buffer>,
  isPhoto: boolean,
): Promise<string> {
  const refuse = (problem: Message): never => {
    throw new Refusal({
      code: 'bad-option',
      problem: plain`${problem}.`,
      expected: isPhoto
        ? say`a photo, JPEG or PNG, of at most ${typed('12 MB')}`
        : say`a text file of at most ${typed(MOST_FILE_WORDS)}`,
    });
  };
  const most = isPhoto ? MOST_PHOTO_BYTES : MOST_FILE_BYTES;
  if ((attached.size ?? 0) > most) refuse(say`The file is too large`);
  const bytes = await bytesOf(attached, most).catch((error: unknown) => {
    if (!(error instanceof TooLarge)) throw error;
    return refuse(say`The file is too large`);
  });
  if (isPhoto) return photoText(bytes) ?? refuse(say`It is no photo that can be read`);
  return textOfBytes(bytes) ?? refuse(say`The file is not text`);
}
