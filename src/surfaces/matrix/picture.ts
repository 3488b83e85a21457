/** The bot's picture: a clamp that holds a phone, drawn here as a PNG (W3C, "Portable Network Graphics"). */
import { crc32, deflateSync } from 'node:zlib';

const SIZE = 128;
const ground = [0x1f, 0x4e, 0x5a];
const metal = [0xf2, 0xc1, 0x4e];
const glass = [0xf4, 0xf1, 0xea];

const within = (value: number, from: number, to: number): boolean => value >= from && value < to;
function colourAt(x: number, y: number): readonly number[] {
  if (within(x, 48, 80) && within(y, 20, 84)) return glass;
  if (within(y, 60, 72) && within(x, 34, 94)) return metal;
  if (within(y, 60, 96) && (within(x, 34, 44) || within(x, 84, 94))) return metal;
  if (within(y, 90, 100) && within(x, 34, 94)) return metal;
  return within(x, 58, 70) && within(y, 100, 120) ? metal : ground;
}

const chunk = (type: string, data: Buffer): Buffer => {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const frame = Buffer.alloc(8);
  frame.writeUInt32BE(data.length, 0);
  frame.writeUInt32BE(crc32(body), 4);
  return Buffer.concat([frame.subarray(0, 4), body, frame.subarray(4)]);
};

export function ownPicture(): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(SIZE, 0);
  header.writeUInt32BE(SIZE, 4);
  // Eight bits a channel, red, green and blue.
  header.set([8, 2], 8);
  const rows = Array.from({ length: SIZE }, (_, y) => [
    0,
    ...Array.from({ length: SIZE }, (__, x) => colourAt(x, y)).flat(),
  ]).flat();
  return Buffer.concat([
    Buffer.from('89504e470d0a1a0a', 'hex'),
    chunk('IHDR', header),
    chunk('IDAT', deflateSync(Buffer.from(rows))),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
