/** Photos of a job: what one may be, where it stands in the way of a phone, and how many are kept. Pure. */
import type { Actor } from '../people/actor.ts';

/** At intake, at a step, at the end. */
export const photoMoments = ['intake', 'step', 'end'] as const;
type PhotoMoment = (typeof photoMoments)[number];

/** What somebody may attach, in bytes; it is made smaller before it is kept. */
export const MOST_PHOTO_BYTES = 12_000_000;
/** Of one job. */
export const MOST_PHOTOS = 12;

export interface JobPhoto {
  /** From 1 within its job. */
  number: number;
  moment: PhotoMoment;
  by: Actor;
  at: Date;
}

const SIGNATURE = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
/** Chunks of a PNG (ISO/IEC 15948) that hold the picture and nothing else: no text, no time, no EXIF. */
const PICTURE_CHUNKS = new Set(['IHDR', 'PLTE', 'tRNS', 'IDAT', 'IEND']);

/** Whether bytes are a whole PNG with nothing in it but the picture: no place, no device, no words, nothing behind its end. */
export function isBarePng(bytes: Buffer): boolean {
  if (!bytes.subarray(0, 8).equals(SIGNATURE)) return false;
  let at = 8;
  let last = '';
  while (at + 12 <= bytes.length) {
    last = bytes.toString('latin1', at + 4, at + 8);
    if (!PICTURE_CHUNKS.has(last)) return false;
    at += 12 + bytes.readUInt32BE(at);
    if (last === 'IEND') break;
  }
  return last === 'IEND' && at === bytes.length;
}
