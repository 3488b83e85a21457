/** What a person is told when something failed that is not theirs to mend. Nothing was saved then. */
import type { Message } from '../../shared/language/message.ts';
import { joined, say, typed } from '../../shared/language/say.ts';
import { type Draft, reply } from './reply.ts';

interface Cause {
  /** Codes of SQLite and of the system. */
  code: RegExp;
  title: Message;
  advice: Message | '';
}

const faultWords: readonly Cause[] = [
  {
    code: /^(SQLITE_FULL|SQLITE_IOERR|ENOSPC|EDQUOT|EFBIG)/,
    title: say`The disk here is full, or takes nothing more. Nothing was saved.`,
    advice: say`Whoever runs the bot has to make room; after that, say it again.`,
  },
  {
    code: /^(SQLITE_BUSY|SQLITE_LOCKED)/,
    title: say`Another program holds the store just now. Nothing was saved.`,
    advice: say`Say it again in a minute.`,
  },
  {
    code: /^(SQLITE_READONLY|SQLITE_CANTOPEN|SQLITE_PERM|EACCES|EPERM|EROFS)/,
    title: say`The store here may only be read. Nothing was saved.`,
    advice: say`Whoever runs the bot has to let it write to its folder; after that, say it again.`,
  },
  {
    code: /^(SQLITE_CORRUPT|SQLITE_NOTADB|BAD_ROW)/,
    title: say`The store here is damaged. Nothing was saved.`,
    advice: say`Whoever runs the bot: --check says what is damaged, and a copy made by --backup can take its place.`,
  },
];
const unknownWords: Omit<Cause, 'code'> = {
  title: say`Something went wrong here. Nothing was saved.`,
  advice: '',
};

/** The code of an error, or an empty text. */
export const codeOf = (error: unknown): string =>
  error instanceof Error && 'code' in error ? String(error.code) : '';

/** The reply to a fault that the log has under `id`. */
export function internalErrorReply(error: unknown, id: string): Draft {
  const found = faultWords.find(({ code }) => code.test(codeOf(error))) ?? unknownWords;
  return reply({
    outcome: 'fault',
    audience: 'asker',
    tone: 'danger',
    title: found.title,
    blocks: [
      {
        kind: 'text',
        text: joined([found.advice, say`The log has it under ${typed(id)}.`]),
      },
    ],
    data: { fault: id },
  });
}
