/** The prompt: line editing, history, completion, and the words that only a terminal has. */

import { appendFileSync, existsSync, readFileSync, writeFileSync } from 'node:fs';
import { createInterface, type Interface } from 'node:readline';
import { z } from 'zod';
import { mayBeKept } from '../../../commands/framework/private.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import { drawingWidth, renderFrontAsText } from '../text-render.ts';
import { saveFiles } from './files.ts';
import type { Session } from './session.ts';

export interface PromptParts {
  session: Session;
  input: NodeJS.ReadableStream;
  output: NodeJS.WritableStream & { columns?: number };
  colour: boolean;
  /** Null: none is kept. */
  historyFile: string | null;
  /** Where files that replies carry are written. */
  outFolder: string | null;
  /** Called once the prompt is open, with a way to say something while nobody asked. */
  opened?: (tell: (text: string) => void) => void;
}

const HISTORY_MOST = 500;
/** The answer of a command that removed words for good. */
const wipedData = z.object({ wiped: z.looseObject({}) });
/** What is private, what has an IMEI or a secret in it and what was mistyped stays out of the history on disk. */
const mayStay = (line: string, { commands, secrets }: Session): boolean => mayBeKept(line, commands, secrets);

function readHistory(file: string | null, session: Session): string[] {
  if (file === null || !existsSync(file)) return [];
  const lines = readFileSync(file, 'utf8')
    .split('\n')
    .filter((line) => mayStay(line, session))
    .slice(-HISTORY_MOST);
  writeFileSync(file, `${lines.join('\n')}\n`, { mode: 0o600 });
  return lines.reverse();
}

const QUIT = '/quit';
const OWN_HELP = say`Here in the terminal also: a number answers the last choices; more shows what stands behind the last reply; /quit leaves.`;

/**
 * The line editor puts what all items begin with in place of what was typed. Items that begin so are taken alone; where
 * the items have too little in common, the typed text joins them, so that it is not shortened to a quote or to nothing.
 */
function safeToInsert(typed: string, items: readonly string[]): string[] {
  const key = (text: string) => text.replace(/^"/, '').toLowerCase();
  const begin = items.filter((item) => key(item).startsWith(key(typed)));
  const best = begin.length ? begin : [...items];
  const [first = '', ...others] = best;
  let shared = first.length;
  for (const other of others) while (!other.startsWith(first.slice(0, shared))) shared -= 1;
  return others.length && !key(first.slice(0, shared)).startsWith(key(typed)) ? [typed, ...best] : best;
}

const promptOf = ({ persona, direct }: Session): string =>
  `${persona.name} @ ${direct ? 'direct' : 'workshop'} > `;

/** Resolves when the person leaves. */
export const openPrompt = (parts: PromptParts): Promise<void> => new Prompt(parts).run();

const completerOf =
  (session: Session) =>
  (line: string): [string[], string] => {
    const { from, to, items } = session.complete(line, line.length);
    const own = line && QUIT.startsWith(line) ? [QUIT] : [];
    const typed = line.slice(from, to);
    const texts = safeToInsert(typed, [...items.map(({ text }) => text), ...own]);
    const [only] = texts;
    // The one way on is taken whole, with the space that has to follow it.
    if (only !== undefined && texts.length === 1) return [[only.endsWith(':') ? only : `${only} `], typed];
    return [texts, typed];
  };

class Prompt {
  private readonly parts: PromptParts;
  private readonly lines: Interface;
  /** Ctrl-C was pressed on an empty line: once more, and the person leaves. */
  private leaving = false;
  private closed = false;
  private left = false;

  constructor(parts: PromptParts) {
    this.parts = parts;
    const { session, input, output, historyFile } = parts;
    this.lines = createInterface({
      input,
      output,
      history: readHistory(historyFile, session),
      historySize: HISTORY_MOST,
      removeHistoryDuplicates: true,
      prompt: promptOf(session),
      completer: completerOf(session),
    });
  }

  run(): Promise<void> {
    return new Promise((resolve, reject) => {
      // A drawing takes a moment: lines typed meanwhile wait for their turn.
      let turn = Promise.resolve();
      this.lines.on('line', (text) => {
        this.leaving = false;
        turn = turn.then(() => this.take(text.trim())).catch(reject);
      });
      this.lines.on('SIGINT', () => this.interrupt());
      this.lines.on('close', () => {
        this.closed = true;
        turn.then(resolve);
      });
      this.lines.prompt();
      this.parts.opened?.((text) => this.tell(text));
    });
  }

  private async take(line: string): Promise<void> {
    const { session, historyFile } = this.parts;
    if (this.left) return;
    if (line === QUIT) {
      this.left = true;
      return this.lines.close();
    }
    if (line) {
      if (historyFile !== null && !session.direct && mayStay(line, session))
        appendFileSync(historyFile, `${line}\n`, { mode: 0o600 });
      await withLocale(session.language(), () => this.answer(line));
    }
    if (!this.closed) this.lines.prompt();
  }

  private async answer(line: string): Promise<void> {
    const { session, output, outFolder, colour, historyFile } = this.parts;
    const reply = session.say(line);
    const isWiped = wipedData.safeParse(reply.data).success;
    // What was removed may have been typed here.
    if (isWiped && historyFile !== null) writeFileSync(historyFile, '', { mode: 0o600 });
    const whisper = reply.audience === 'asker' && !session.direct && reply.outcome === 'answered';
    const notes = [
      ...(await saveFiles(reply, outFolder, session.fault)),
      ...(isWiped && historyFile !== null
        ? [render(say`(The history of this prompt is emptied, too.)`)]
        : []),
      ...(whisper ? [render(say`(Only you see this.)`)] : []),
      ...(line === '/help' ? [render(OWN_HELP)] : []),
    ];
    output.write(`\n${renderFrontAsText(reply, { width: drawingWidth(output.columns), colour }, notes)}\n`);
    this.lines.setPrompt(promptOf(session));
  }

  /** The first Ctrl-C clears the line, the second on an empty one leaves. */
  private interrupt(): void {
    const { output, session } = this.parts;
    if (this.leaving && this.lines.line === '') {
      this.lines.close();
      return;
    }
    this.leaving = this.lines.line === '';
    output.write(this.leaving ? `\n${render(say`(Once more to leave.)`, session.language())}\n` : '\n');
    this.lines.write(null, { ctrl: true, name: 'e' });
    this.lines.write(null, { ctrl: true, name: 'u' });
    this.lines.prompt();
  }

  /** Something said while nobody asked. */
  private tell(text: string): void {
    if (this.closed) return;
    this.parts.output.write(`\n${text}\n`);
    this.lines.prompt(true);
  }
}
