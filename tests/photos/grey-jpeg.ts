/** A JPEG of grey squares (ITU-T T.81, baseline, one component, no AC coefficients): small enough to be written out here. */

const segment = (marker: number, body: readonly number[]): number[] => [
  ...[0xff, marker, (body.length + 2) >> 8, (body.length + 2) & 0xff],
  ...body,
];

/** Rows of squares of 8 by 8 pixels, each from 0 (black) to 255 (white). */
export function greyJpeg(rows: readonly (readonly number[])[]): Buffer {
  const height = 8 * rows.length;
  const width = 8 * (rows[0]?.length ?? 0);
  let bits = '';
  let before = 0;
  for (const value of rows.flat()) {
    // The table of quantization is 8 throughout, so the DC coefficient is the grey less 128.
    const difference = value - 128 - before;
    before = value - 128;
    const size = difference === 0 ? 0 : Math.floor(Math.log2(Math.abs(difference))) + 1;
    const code = difference < 0 ? difference + 2 ** size - 1 : difference;
    // Codes of four bits for the size; then the difference; then the end of the block, code 0.
    bits += size.toString(2).padStart(4, '0') + (size ? code.toString(2).padStart(size, '0') : '') + '0';
  }
  bits = bits.padEnd(Math.ceil(bits.length / 8) * 8, '1');
  const data = (bits.match(/.{8}/g) ?? []).flatMap((byte) => {
    const value = Number.parseInt(byte, 2);
    return value === 0xff ? [0xff, 0] : [value];
  });
  return Buffer.from([
    ...[0xff, 0xd8],
    ...segment(0xdb, [0, ...Array<number>(64).fill(8)]),
    ...segment(0xc0, [8, height >> 8, height & 0xff, width >> 8, width & 0xff, 1, 1, 0x11, 0]),
    ...segment(0xc4, [
      0x00,
      ...[0, 0, 0, 12],
      ...Array<number>(12).fill(0),
      ...Array.from({ length: 12 }, (_, n) => n),
    ]),
    ...segment(0xc4, [0x10, 1, ...Array<number>(15).fill(0), 0x00]),
    ...segment(0xda, [1, 1, 0x00, 0, 63, 0]),
    ...data,
    ...[0xff, 0xd9],
  ]);
}
