/** Reads the text of a PDF back, by the file format alone (ISO 32000-1): streams, text operators and ToUnicode tables. */
import { inflateSync } from 'node:zlib';

export interface ReadPdf {
  pages: number;
  /** Text of each show operator, with the y of its line in points from the bottom. */
  lines: { text: string; x: number; y: number; size: number }[];
  text: string;
  fontsEmbedded: number;
}

interface Objects {
  body: Map<number, string>;
  stream: Map<number, Buffer>;
}

function objectsOf(bytes: Buffer): Objects {
  const file = bytes.toString('latin1');
  const found: Objects = { body: new Map(), stream: new Map() };
  for (const match of file.matchAll(/(\d+) 0 obj\n([\s\S]*?)\nendobj/g)) {
    const number = Number(match[1]);
    const [head = '', data] = (match[2] ?? '').split(/stream\n([\s\S]*)\nendstream/);
    found.body.set(number, head);
    if (data === undefined) continue;
    const raw = Buffer.from(data, 'latin1');
    found.stream.set(number, head.includes('/FlateDecode') ? inflateSync(raw) : raw);
  }
  return found;
}

const hexToText = (hex: string): string => Buffer.from(hex, 'hex').swap16().toString('utf16le');

/** Code to text, from the bfrange and bfchar entries of a ToUnicode table. */
function unicodeOf(table: string): Map<number, string> {
  const found = new Map<number, string>();
  for (const block of table.matchAll(/beginbfrange\n([\s\S]*?)endbfrange/g)) {
    for (const [, from = '', , list = ''] of (block[1] ?? '').matchAll(/<(\w+)> <(\w+)> \[([^\]]*)\]/g)) {
      const texts = [...list.matchAll(/<([\w ]*)>/g)].map(([, hex = '']) =>
        hexToText(hex.replaceAll(' ', '')),
      );
      texts.forEach((text, index) => {
        found.set(Number.parseInt(from, 16) + index, text);
      });
    }
  }
  return found;
}

export function readPdf(bytes: Buffer): ReadPdf {
  const { body, stream } = objectsOf(bytes);
  const all = [...body.values()];
  const reference = (text: string, key: string) =>
    Number(new RegExp(`/${key} \\[?(\\d+) 0 R`).exec(text)?.[1]);
  const page = all.find((one) => /\/Type \/Page\b(?!s)/.test(one)) ?? '';
  const resources = body.get(reference(page, 'Resources')) ?? page;
  const fonts = new Map<string, Map<number, string>>();
  for (const [, name = '', number] of resources.matchAll(/\/(F\d+) (\d+) 0 R/g)) {
    const table = stream.get(reference(body.get(Number(number)) ?? '', 'ToUnicode'));
    fonts.set(name, unicodeOf(table?.toString('latin1') ?? ''));
  }
  const content = stream.get(reference(page, 'Contents'))?.toString('latin1') ?? '';
  const lines: ReadPdf['lines'] = [];
  let font = new Map<number, string>();
  let [x, y, size] = [0, 0, 0];
  for (const line of content.split('\n')) {
    const place = /^1 0 0 1 ([\d.-]+) ([\d.-]+) Tm$/.exec(line);
    if (place) [x, y] = [Number(place[1]), Number(place[2])];
    const set = /^\/(F\d+) ([\d.]+) Tf$/.exec(line);
    if (set) [font, size] = [fonts.get(set[1] ?? '') ?? new Map(), Number(set[2])];
    if (!line.endsWith(' TJ')) continue;
    const codes = [...line.matchAll(/<(\w+)>/g)].flatMap(([, hex = '']) => hex.match(/.{4}/g) ?? []);
    lines.push({
      text: codes.map((code) => font.get(Number.parseInt(code, 16)) ?? '?').join(''),
      x,
      y,
      size,
    });
  }
  return {
    pages: all.filter((one) => /\/Type \/Page\b(?!s)/.test(one)).length,
    lines,
    text: lines.map(({ text }) => text).join(' '),
    fontsEmbedded: all.filter((one) => one.includes('/FontFile2')).length,
  };
}
