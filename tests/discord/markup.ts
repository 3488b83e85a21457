/**
 * Reads text as Discord's client does: which markup it would draw, and which words remain. Written for the tests from the
 * public descriptions of that markup: Discord's help page "Markdown Text 101", the developer documentation's "Message
 * Formatting", and the grammars of the open-source parsers parse-discord (LyricLy, Python) and discord-markdown
 * (brussell98, JavaScript). Stricter than the client: a mark without its partner counts too.
 */
const anywhere: readonly (readonly [name: string, pattern: RegExp])[] = [
  ['code', /`/y],
  ['emphasis', /[*_]/y],
  ['strike', /~~/y],
  ['spoiler', /\|\|/y],
  ['mention', /<(?:@[!&]?|#)\d+>|<id:\w+>|@(?:everyone|here)/y],
  ['command', /<\/[-\w ]+:\d+>/y],
  ['emoji', /<a?:\w+:\d+>|:\w+:/y],
  ['time', /<t:-?\d+(?::\w)?>/y],
  [
    'address',
    /(?:https?|steam|discord|ftp):\/\/\S|<[^:\s>]+:\/?[^\s>]+>|discord(?:app)?\.(?:gg|com\/invite)\/\w/y,
  ],
  ['link', /\[[^\]]*\]\([^)]*\)/y],
];
const atLineStart: readonly (readonly [name: string, pattern: RegExp])[] = [
  ['heading', /#{1,3} +\S/y],
  ['subtext', /-# +\S/y],
  ['quote', / *>(?:>>)? /y],
  ['list', / *(?:[-*]|\d+\.) +\S/y],
];

export interface Read {
  /** Names of what would be drawn as more than plain text. */
  markup: string[];
  /** The words as they are shown. */
  shown: string;
}

export function readMarkup(text: string): Read {
  const markup: string[] = [];
  let shown = '';
  for (let at = 0; at < text.length; ) {
    const lineStart = at === 0 || text[at - 1] === '\n';
    const escaped = /\\([^A-Za-z0-9\s])/y;
    escaped.lastIndex = at;
    const mark = escaped.exec(text);
    const patterns = lineStart ? [...atLineStart, ...anywhere] : anywhere;
    if (!mark) {
      for (const [name, pattern] of patterns) {
        pattern.lastIndex = at;
        if (pattern.test(text)) markup.push(name);
      }
    }
    shown += mark?.[1] ?? text[at] ?? '';
    at += mark ? 2 : 1;
  }
  return { markup, shown };
}
