/** Text files as people and their spreadsheets have them. */

/** The one limit of a file that is given to the bot, on every surface. */
export const MOST_FILE_BYTES = 2_000_000;
/** The same in words: "2 MB". */
export const MOST_FILE_WORDS = `${MOST_FILE_BYTES / 1e6} MB`;

const decode = (encoding: string, bytes: Uint8Array): string | null => {
  try {
    return new TextDecoder(encoding, { fatal: true }).decode(bytes);
  } catch {
    return null;
  }
};

/** UTF-16 without a mark at its start: every other byte of text in Latin letters is zero. */
function bareUtf16(bytes: Uint8Array): 'utf-16le' | 'utf-16be' | null {
  const sample = bytes.subarray(0, 400);
  if (sample.length < 4 || bytes.length % 2) return null;
  const zeros = [0, 0];
  sample.forEach((byte, at) => {
    if (byte === 0) zeros[at % 2] = (zeros[at % 2] ?? 0) + 1;
  });
  const half = sample.length / 2;
  const [even = 0, odd = 0] = zeros;
  if (odd > 0.6 * half && even === 0) return 'utf-16le';
  if (even > 0.6 * half && odd === 0) return 'utf-16be';
  return null;
}

/**
 * The text of a file's bytes: UTF-8 with or without a mark, UTF-16 either way round, else Windows' Latin-1 (code page 1252), in
 * which older spreadsheets write. Null for what is no text: bytes of zero, or control characters, in it.
 */
export function textOfBytes(bytes: Uint8Array): string | null {
  const marked =
    bytes[0] === 0xff && bytes[1] === 0xfe
      ? 'utf-16le'
      : bytes[0] === 0xfe && bytes[1] === 0xff
        ? 'utf-16be'
        : bareUtf16(bytes);
  const text = marked ? decode(marked, bytes) : (decode('utf-8', bytes) ?? decode('windows-1252', bytes));
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
  return text === null || /[\u0000-\u0008\u000e-\u001f]/.test(text) ? null : text;
}

/** What parts the cells of a CSV text, by its first line: a comma, a semicolon or a tab. `sep=;` says it outright. */
export function cellMarkOf(text: string): ',' | ';' | '\t' {
  const [line = ''] = text.split('\n', 1);
  const said = /^sep=([,;\t])\r?$/i.exec(line)?.[1];
  const counts = ([',', ';', '\t'] as const).map((mark) => ({
    mark,
    count: said === mark ? Number.POSITIVE_INFINITY : line.split(mark).length - 1,
  }));
  return counts.reduce((best, one) => (one.count > best.count ? one : best)).mark;
}
