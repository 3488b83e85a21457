/** The markup that the bot itself writes, as the elements that draw it. Everything else is text. */
const entities: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };
export const html = (text: string): string => text.replace(/[&<>"]/g, (mark) => entities[mark] ?? mark);

/** Bold words, even-spaced ones and escaped marks of one line. */
function inline(line: string): string {
  let drawn = '';
  let bold = false;
  for (let at = 0; at < line.length; ) {
    if (line[at] === '\\' && at + 1 < line.length) {
      drawn += html(line[at + 1] ?? '');
      at += 2;
    } else if (line[at] === '`' && line.includes('`', at + 1)) {
      const end = line.indexOf('`', at + 1);
      drawn += `<discord-code embed>${html(line.slice(at + 1, end))}</discord-code>`;
      at = end + 1;
    } else if (line.startsWith('**', at)) {
      drawn += bold ? '</discord-bold>' : '<discord-bold>';
      bold = !bold;
      at += 2;
    } else {
      drawn += html(line[at] ?? '');
      at += 1;
    }
  }
  return bold ? `${drawn}</discord-bold>` : drawn;
}

interface Line {
  kind: 'text' | 'list' | 'numbers' | 'quote' | 'small';
  text: string;
  /** Of a numbered entry. */
  number?: string;
}

function lineOf(line: string): Line {
  const numbered = /^(\d+)\. (.*)$/.exec(line);
  if (numbered) return { kind: 'numbers', text: numbered[2] ?? '', number: numbered[1] ?? '1' };
  if (line.startsWith('- ')) return { kind: 'list', text: line.slice(2) };
  if (line.startsWith('-# ')) return { kind: 'small', text: line.slice(3) };
  if (line.startsWith('> ')) return { kind: 'quote', text: line.slice(2) };
  return { kind: 'text', text: line };
}

function drawLines(lines: readonly string[]): string {
  const groups: Line[][] = [];
  for (const line of lines.map(lineOf)) {
    const last = groups.at(-1);
    // A line that is indented goes on with the entry above it.
    const goesOn = line.kind === 'text' && line.text.startsWith('  ') && last?.at(-1)?.kind !== 'text';
    if (last && (goesOn || last[0]?.kind === line.kind)) last.push(line);
    else groups.push([line]);
  }
  return groups
    .map((group) => {
      const [first] = group;
      const items = () =>
        group
          .reduce<string[]>((made, { kind, text }) => {
            if (kind === 'text' && made.length) made[made.length - 1] += `<br>${inline(text.trim())}`;
            else made.push(inline(text));
            return made;
          }, [])
          .map((item) => `<discord-list-item>${item}</discord-list-item>`)
          .join('');
      switch (first?.kind) {
        case 'list':
          return `<discord-unordered-list>${items()}</discord-unordered-list>`;
        case 'numbers':
          return `<discord-ordered-list start="${first.number}">${items()}</discord-ordered-list>`;
        case 'quote':
          return `<discord-quote>${group.map(({ text }) => inline(text)).join('<br>')}</discord-quote>`;
        case 'small':
          return group.map(({ text }) => `<discord-subscript>${inline(text)}</discord-subscript>`).join('');
        default:
          return group.map(({ text }) => inline(text)).join('<br>');
      }
    })
    .join('');
}

export function drawMarkdown(text: string, inEmbed: boolean): string {
  return text
    .split(/```\n([\s\S]*?)\n```/)
    .map((part, index) =>
      index % 2
        ? `<discord-code multiline${inEmbed ? ' embed' : ''}>${html(part)}</discord-code>`
        : part.trim()
          ? drawLines(part.replace(/^\n|\n$/g, '').split('\n'))
          : '',
    )
    .join('');
}
