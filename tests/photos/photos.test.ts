/** Photos of a job: nothing of a camera is kept, they are sealed, erased with their person, and on the page by choice alone. */
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Resvg } from '@resvg/resvg-js';
import { describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { handOverPage } from '../../commands/job/hand-over-page.ts';
import { jobPhotosData } from '../../commands/job/photos.ts';
import { mydataExportData } from '../../commands/mydata/export.ts';
import { isBarePng, MOST_PHOTOS } from '../../shared/photos/photo.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { photoText } from '../../src/draw/photo-text.ts';
import { withFiles } from '../../src/surfaces/terminal/line-files.ts';
import { refusalOf, type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';
import { greyJpeg } from './grey-jpeg.ts';

/** 24 by 16 pixels: dark on the left, bright on the right. */
const plainJpeg = greyJpeg([
  [20, 128, 240],
  [20, 128, 240],
]);
const SECRET = 'CAM-4711 54.3N 10.1E';

/** The same with an EXIF segment in which are an orientation and words of a camera, a comment, and words behind the end. */
function fromCamera(orientation: number): Buffer {
  const tiff = Buffer.alloc(26);
  tiff.write('II*', 0, 'latin1');
  tiff.writeUInt32LE(8, 4);
  tiff.writeUInt16LE(1, 8);
  tiff.writeUInt16LE(0x0112, 10);
  tiff.writeUInt16LE(3, 12);
  tiff.writeUInt32LE(1, 14);
  tiff.writeUInt16LE(orientation, 18);
  const segment = (marker: number, body: Buffer) => {
    const head = Buffer.from([0xff, marker, 0, 0]);
    head.writeUInt16BE(body.length + 2, 2);
    return Buffer.concat([head, body]);
  };
  return Buffer.concat([
    plainJpeg.subarray(0, 2),
    segment(0xe1, Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), tiff, Buffer.from(SECRET)])),
    segment(0xfe, Buffer.from(SECRET)),
    plainJpeg.subarray(2),
    Buffer.from(SECRET),
  ]);
}
const sizeOf = (png: Buffer) => ({ width: png.readUInt32BE(16), height: png.readUInt32BE(20) });
/** How bright a point of a PNG is, from 0 to 255. */
function greyAt(png: Buffer, x: number, y: number): number {
  const { width, height } = sizeOf(png);
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}"><image width="${width}" height="${height}" href="data:image/png;base64,${png.toString('base64')}"/></svg>`;
  return new Resvg(svg).render().pixels[4 * (y * width + x)] ?? Number.NaN;
}
const strip = (bytes: Buffer): Buffer => Buffer.from(photoText(bytes) ?? '', 'base64');

function bench(): TestBot {
  const made = testBot();
  made.say('/family name model:"Pip 2" as:keypad-removable-back new-price:60', { role: 'steward' });
  made.say('/job open "Pip 2" ownership:shown lock:free stolen:clear');
  return made;
}
function attach(made: TestBot, options: Record<string, string> = {}, how: Saying = {}): Reply {
  const file = photoText(fromCamera(1)) ?? '';
  return made.say(
    { invoke: { command: 'job', action: 'photo', options: { file, job: '1', ...options } } },
    how,
  );
}

describe('what is kept of a photo', () => {
  it('is its points alone: a picture without place, device, words or anything behind its end', () => {
    const kept = strip(fromCamera(1));
    expect(isBarePng(kept)).toBe(true);
    expect(kept.toString('latin1')).not.toMatch(/CAM|Exif|54\.3/);
    expect(sizeOf(kept)).toEqual({ width: 24, height: 16 });
    expect(greyAt(kept, 3, 8)).toBeLessThan(60);
    expect(greyAt(kept, 20, 8)).toBeGreaterThan(200);
  });
  it('stands upright, however the camera was held', () => {
    const dark = (orientation: number, x: number, y: number) =>
      greyAt(strip(fromCamera(orientation)), x, y) < 60;
    // Mirrored and upside down the dark side is on the right; turned by a quarter it is above or below.
    for (const orientation of [1, 4]) expect(dark(orientation, 3, 8), `${orientation}`).toBe(true);
    for (const orientation of [2, 3]) expect(dark(orientation, 20, 8), `${orientation}`).toBe(true);
    for (const orientation of [5, 6]) expect(dark(orientation, 8, 3), `${orientation}`).toBe(true);
    for (const orientation of [7, 8]) expect(dark(orientation, 8, 20), `${orientation}`).toBe(true);
    expect(sizeOf(strip(fromCamera(6)))).toEqual({ width: 16, height: 24 });
  });
  it('is no larger than its limit, and nothing that is no photo', () => {
    const drawn =
      '<svg xmlns="http://www.w3.org/2000/svg" width="3000" height="1500"><rect width="9" height="9"/></svg>';
    expect(sizeOf(strip(new Resvg(drawn).render().asPng()))).toEqual({ width: 1024, height: 512 });
    for (const bytes of [
      Buffer.from('GIF89a'.padEnd(80)),
      Buffer.from('<svg/>'.padEnd(80)),
      plainJpeg.subarray(0, 40),
      Buffer.alloc(0),
    ])
      expect(photoText(bytes)).toBeNull();
  });
});

describe('/job photo', () => {
  it('keeps it sealed, gives it back, and refuses one that was not drawn anew', async () => {
    const made = bench();
    expect(attach(made).title).toBe('Job 1, Pip 2: photo 1 is kept');
    expect(attach(made, { when: 'end' }).outcome).toBe('answered');
    const kept = photoText(fromCamera(1)) ?? '';
    expect(JSON.stringify(made.dump())).not.toContain(kept.slice(0, 60));
    const shown = made.say('/job photos job:1');
    expect(jobPhotosData.parse(shown.data).photos.map(({ moment }) => moment)).toEqual(['intake', 'end']);
    const [file] = shown.files;
    expect(file && (await drawFile(file)).toString('base64')).toBe(kept);
    for (const raw of [fromCamera(1), Buffer.concat([strip(fromCamera(1)), Buffer.from(SECRET)])])
      expect(refusalOf(attach(made, { file: raw.toString('base64') }))?.code).toBe('bad-option');
    expect(made.store.photos.list(1)).toHaveLength(2);
  });
  it('keeps so many of a job and no more; one is erased by who took it, holds the job, or a steward', () => {
    const made = bench();
    for (let n = 0; n < MOST_PHOTOS; n += 1)
      expect(attach(made, {}, { now: new Date(made.now.getTime() + n * 60_000) }).outcome).toBe('answered');
    expect(refusalOf(attach(made))?.code).toBe('wrong-state');
    expect(refusalOf(made.say('/job photos job:1 erase:2', { as: 'Moss' }))?.code).toBe('not-allowed');
    expect(refusalOf(made.say('/job photos job:1 erase:99'))?.code).toBe('not-found');
    expect(made.say('/job photos job:1 erase:2').outcome).toBe('answered');
    expect(made.store.photos.list(1).map(({ number }) => number)).not.toContain(2);
    expect(attach(made).title).toContain('photo 13 is kept');
  });
  it('goes with the person who took it', () => {
    const made = bench();
    attach(made, {}, { as: 'Moss' });
    attach(made);
    const held = mydataExportData.parse(made.say('/mydata export', { as: 'Moss', direct: true }).data);
    expect(held.held.photos).toBe(1);
    made.store.personData.erase('terminal:Moss', 'Moss');
    expect(made.store.photos.list(1).map(({ by }) => by.name)).toEqual(['Ines']);
  });
  it('is on the hand-over page by choice, before and after, and in no weekly post', async () => {
    const made = bench();
    for (const when of ['intake', 'step', 'end']) attach(made, { when });
    const pdf = (line: string) => made.say(line).files.find(({ name }) => name.endsWith('.pdf'));
    expect(handOverPage.parse(pdf('/job page job:1')?.draw?.data).photos).toBeUndefined();
    const file = pdf('/job page job:1 photos:yes');
    const captions = handOverPage.parse(file?.draw?.data).photos?.map(({ caption }) => caption);
    expect(captions).toEqual(['at intake', 'at the end']);
    const drawn = file ? (await drawFile(file)).toString('latin1') : '';
    expect(drawn.match(/\/Type \/Page\b/g)).toHaveLength(2);
    expect(wordsOf(made.say('/week preview'))).not.toMatch(/photo/);
  });
  it('is taken from a file at the terminal, drawn anew before anything else has it', () => {
    const path = join(mkdtempSync(join(tmpdir(), 'photo-')), 'front.jpg');
    writeFileSync(path, fromCamera(1));
    const read = withFiles(`/job photo file:@${path} when:end`, commands);
    expect(read?.options.file).toBe(photoText(fromCamera(1)));
    writeFileSync(path, 'no photo');
    expect(() => withFiles(`/job photo file:@${path}`, commands)).toThrow();
  });
});
