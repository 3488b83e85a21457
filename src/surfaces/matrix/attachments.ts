/** Text files that come with a command: with the command as their caption, or answered with the command. */

import { z } from 'zod';
import type { Command } from '../../../commands/framework/command.ts';
import { parseLine } from '../../../commands/framework/parse.ts';
import { Refusal } from '../../../commands/framework/refusal.ts';
import type { Invocation } from '../../../commands/framework/reply.ts';
import { MOST_FILE_BYTES, MOST_FILE_WORDS, textOfBytes } from '../../../shared/csv/text-file.ts';
import type { Message } from '../../../shared/language/message.ts';
import { plain, say, typed } from '../../../shared/language/say.ts';
import type { MatrixConnection } from './client.ts';
import { type Attachment, attachmentOf, type Heard } from './events.ts';
import { networkErrorOf } from './network-error.ts';

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

export function attachmentsOf(connection: () => MatrixConnection, commands: readonly Command[]): Attachments {
  const answeredFile = async (room: string, eventId: string): Promise<Attachment | null> => {
    try {
      const event: unknown = await connection().getEvent(room, eventId);
      const read = eventSchema.safeParse(event);
      const raw: unknown = read.success ? read.data.content : null;
      return attachmentOf(raw);
    } catch (error) {
      if (networkErrorOf(error).kind === 'refused') return null;
      throw error;
    }
  };

  const bytesOf = async ({ url, sealed }: Attachment): Promise<Buffer> => {
    const client = connection();
    if (sealed) {
      if (!client.crypto)
        throw new Refusal({
          code: 'bad-option',
          problem: say`That file is encrypted, and I cannot read it.`,
        });
      return client.crypto.decryptMedia(sealedSchema.parse(sealed));
    }
    const { data } = await client.downloadContent(url ?? '');
    return z.instanceof(Buffer).parse(data);
  };

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
      const attached =
        message.attachment ?? (message.replyTo === null ? null : await answeredFile(room, message.replyTo));
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
          options: { ...parsed.options, [name]: await textOf(attached, bytesOf) },
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
  iv: z.literal('v2'),
  hashes: z.object({ sha256: z.string() }),
  v: z.literal('v2'),
});

async function textOf(
  attached: Attachment,
  bytesOf: (attached: Attachment) => Promise<Buffer>,
): Promise<string> {
  const refuse = (problem: Message): never => {
    throw new Refusal({
      code: 'bad-option',
      problem: plain`${problem}.`,
      expected: say`a text file of at most ${typed(MOST_FILE_WORDS)}`,
    });
  };
  if ((attached.size ?? 0) > MOST_FILE_BYTES) refuse(say`The file is too large`);
  const bytes = await bytesOf(attached);
  if (bytes.length > MOST_FILE_BYTES) refuse(say`The file is too large`);
  return textOfBytes(bytes) ?? refuse(say`The file is not text`);
}
