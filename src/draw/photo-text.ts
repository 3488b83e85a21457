/**
 * A photo as it may be kept: drawn anew from its points alone, smaller, as a PNG. What a camera writes beside the picture (the
 * place, the device, the time, a small picture of the whole) is in none of the points and so is gone.
 */
import { createRequire } from 'node:module';
import type * as ResvgModule from '@resvg/resvg-js';
import { isBarePng, MOST_PHOTO_BYTES } from '../../shared/photos/photo.ts';

/** The longest side, in pixels, of what is kept; less where that is too many bytes. */
const LONGEST = 1024;
const SHORTEST = 256;
/** Base64 of it goes through an option, which takes two million signs. */
const MOST_KEPT = 1_400_000;
/** A picture of more points than this is not opened. */
const MOST_POINTS = 80_000_000;

interface Found {
  type: 'jpeg' | 'png';
  width: number;
  height: number;
  /** How a viewer turns it: 1 to 8 (EXIF 2.3, tag 0x0112). */
  orientation: number;
}

/** The orientation in an EXIF segment; 1 where there is none. */
function orientationIn(exif: Buffer): number {
  if (exif.toString('latin1', 0, 6) !== 'Exif\0\0' || exif.length < 14) return 1;
  const tiff = exif.subarray(6);
  const little = tiff.toString('latin1', 0, 2) === 'II';
  const word = (at: number) =>
    at + 2 > tiff.length ? 0 : little ? tiff.readUInt16LE(at) : tiff.readUInt16BE(at);
  const first = tiff.length < 8 ? 0 : little ? tiff.readUInt32LE(4) : tiff.readUInt32BE(4);
  for (let entry = 0; entry < word(first); entry += 1) {
    const at = first + 2 + 12 * entry;
    if (word(at) === 0x0112) return Math.min(8, Math.max(1, word(at + 8)));
  }
  return 1;
}

/** Segments of a JPEG (ITU-T T.81) up to its frame. */
function readJpeg(bytes: Buffer): Found | null {
  let orientation = 1;
  for (let at = 2; at + 9 < bytes.length; ) {
    if (bytes[at] !== 0xff) return null;
    const marker = bytes[at + 1] ?? 0;
    if (marker === 0xff) {
      at += 1;
      continue;
    }
    const length = bytes.readUInt16BE(at + 2);
    if (marker === 0xe1)
      orientation = Math.max(orientation, orientationIn(bytes.subarray(at + 4, at + 2 + length)));
    // Start of frame, without the tables that share its range.
    if (marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker))
      return {
        type: 'jpeg',
        height: bytes.readUInt16BE(at + 5),
        width: bytes.readUInt16BE(at + 7),
        orientation,
      };
    at += 2 + length;
  }
  return null;
}

function look(bytes: Buffer): Found | null {
  if (bytes.length > MOST_PHOTO_BYTES || bytes.length < 33) return null;
  if (bytes[0] === 0xff && bytes[1] === 0xd8) return readJpeg(bytes);
  if (bytes.toString('latin1', 1, 4) === 'PNG')
    return { type: 'png', width: bytes.readUInt32BE(16), height: bytes.readUInt32BE(20), orientation: 1 };
  return null;
}

/** What turns a picture of width w and height h upright, by its orientation. */
const turns: Readonly<Record<number, (w: number, h: number) => string>> = {
  2: (w) => `matrix(-1 0 0 1 ${w} 0)`,
  3: (w, h) => `matrix(-1 0 0 -1 ${w} ${h})`,
  4: (_, h) => `matrix(1 0 0 -1 0 ${h})`,
  5: () => 'matrix(0 1 1 0 0 0)',
  6: (_, h) => `matrix(0 1 -1 0 ${h} 0)`,
  7: (w, h) => `matrix(0 -1 -1 0 ${h} ${w})`,
  8: (w) => `matrix(0 -1 1 0 0 ${w})`,
};

const library = (): typeof ResvgModule => createRequire(import.meta.url)('@resvg/resvg-js');

/** The photo as base64 of a PNG with nothing but the picture in it; null for what is no JPEG and no PNG, or cannot be drawn. */
export function photoText(bytes: Buffer): string | null {
  const found = look(bytes);
  if (!found?.width || !found.height || found.width * found.height > MOST_POINTS) return null;
  const { type, width, height, orientation } = found;
  const [w, h] = orientation >= 5 ? [height, width] : [width, height];
  const source = `data:image/${type};base64,${bytes.toString('base64')}`;
  const turn = turns[orientation]?.(width, height);
  const { Resvg } = library();
  for (
    let side = Math.min(LONGEST, Math.max(w, h));
    side >= Math.min(SHORTEST, Math.max(w, h));
    side = Math.floor(side * 0.75)
  ) {
    const scale = side / Math.max(w, h);
    const [wide, high] = [Math.max(1, Math.round(w * scale)), Math.max(1, Math.round(h * scale))];
    const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${wide}" height="${high}" viewBox="0 0 ${w} ${h}" preserveAspectRatio="none"><g${turn ? ` transform="${turn}"` : ''}><image width="${width}" height="${height}" href="${source}"/></g></svg>`;
    try {
      const png = new Resvg(svg, { font: { loadSystemFonts: false } }).render().asPng();
      if (!isBarePng(png)) return null;
      if (png.length <= MOST_KEPT) return png.toString('base64');
    } catch {
      return null;
    }
  }
  return null;
}
