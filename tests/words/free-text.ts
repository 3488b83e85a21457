/** Each place where a person types freely, with what is understood there: made from the commands. `node` this file writes it. */
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { commandPath } from '../../commands/framework/command.ts';
import { commands } from '../../commands/index.ts';
import { render } from '../../shared/language/render.ts';

export const freeTextFile = fileURLToPath(new URL('../../shared/words/README.md', import.meta.url));

/** One row for each option that takes text. */
export const freeTextRows = (): string[] =>
  commands.flatMap((command) =>
    Object.entries(command.actions).flatMap(([action, { options }]) =>
      Object.entries(options).flatMap(([name, { wire, expected, example }]) => {
        const free = wire.type === 'text' || (wire.type === 'lookup' && wire.words === true);
        const cells = [
          `\`${commandPath(command, action)}\``,
          `\`${name}\``,
          render(expected, 'en'),
          `\`${example}\``,
        ];
        return free ? [`| ${cells.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`] : [];
      }),
    ),
  );

const MARK = '| where | option | what is understood | for example |';

export function freeText(): string {
  const [before = ''] = readFileSync(freeTextFile, 'utf8').split(MARK);
  return `${before}${MARK}\n|---|---|---|---|\n${freeTextRows().join('\n')}\n`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) writeFileSync(freeTextFile, freeText());
