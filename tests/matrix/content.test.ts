import { deflateSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { edit, file, notice, pngSize, reaction } from '../../src/surfaces/matrix/content.ts';
import { transactionOf } from '../../src/surfaces/matrix/delivery.ts';

const drawn = { body: 'Pass', html: '<p>Pass</p>' };
const spot = { room: '!r:shed.test', thread: null, replyTo: null };

describe('what is sent', () => {
  it('is a notice with plain body and HTML, and notifies nobody', () => {
    expect(notice(drawn, spot)).toEqual({
      msgtype: 'm.notice',
      body: 'Pass',
      format: 'org.matrix.custom.html',
      formatted_body: '<p>Pass</p>',
      'm.mentions': {},
    });
  });

  it('answers the command, in its thread where it is in one', () => {
    expect(notice(drawn, { ...spot, replyTo: '$c' })['m.relates_to']).toEqual({
      'm.in_reply_to': { event_id: '$c' },
    });
    expect(notice(drawn, { ...spot, thread: '$root', replyTo: '$c' })['m.relates_to']).toEqual({
      rel_type: 'm.thread',
      event_id: '$root',
      is_falling_back: false,
      'm.in_reply_to': { event_id: '$c' },
    });
    expect(notice(drawn, { ...spot, thread: '$root' })['m.relates_to']).toEqual({
      rel_type: 'm.thread',
      event_id: '$root',
      is_falling_back: true,
      'm.in_reply_to': { event_id: '$root' },
    });
  });

  it('corrects an earlier message, with a short word for clients that know no edits', () => {
    expect(edit(drawn, '$m', 'Week 9')).toEqual({
      msgtype: 'm.notice',
      body: '* Week 9',
      'm.mentions': {},
      'm.new_content': {
        msgtype: 'm.notice',
        body: 'Pass',
        format: 'org.matrix.custom.html',
        formatted_body: '<p>Pass</p>',
        'm.mentions': {},
      },
      'm.relates_to': { rel_type: 'm.replace', event_id: '$m' },
    });
    expect(reaction('$m', '2️⃣')['m.relates_to']).toEqual({
      rel_type: 'm.annotation',
      event_id: '$m',
      key: '2️⃣',
    });
  });

  it('has the same transaction for the same thing, and another for any other', () => {
    expect(transactionOf('say', '!r', '$c', 0)).toBe(transactionOf('say', '!r', '$c', 0));
    const all = [
      transactionOf('say', '!r', '$c', 0),
      transactionOf('say', '!r', '$c', 1),
      transactionOf('a', 'bc'),
      transactionOf('ab', 'c'),
    ];
    expect(new Set(all).size).toBe(4);
    for (const one of all) expect(one).toMatch(/^[A-Za-z0-9_-]{1,64}$/);
  });
});

describe('a file', () => {
  /** A grey picture, built from the chunks that the PNG specification names. */
  const png = (width: number, height: number): Buffer => {
    const chunk = (type: string, data: Buffer) => {
      const length = Buffer.alloc(4);
      length.writeUInt32BE(data.length);
      return Buffer.concat([length, Buffer.from(type), data, Buffer.alloc(4)]);
    };
    const header = Buffer.alloc(13);
    header.writeUInt32BE(width, 0);
    header.writeUInt32BE(height, 4);
    header[8] = 8;
    const data = deflateSync(Buffer.alloc((width + 1) * height));
    return Buffer.concat([
      Buffer.from('89504e470d0a1a0a', 'hex'),
      chunk('IHDR', header),
      chunk('IDAT', data),
      chunk('IEND', Buffer.alloc(0)),
    ]);
  };

  it('that is a picture has its size, and words for who cannot see it', () => {
    const bytes = png(640, 360);
    expect(pngSize(bytes)).toEqual({ w: 640, h: 360 });
    expect(
      file(
        { name: 'week.png', mime: 'image/png', alt: 'Bars by day', bytes, at: { url: 'mxc://a/b' } },
        spot,
      ),
    ).toEqual({
      msgtype: 'm.image',
      body: 'Bars by day',
      filename: 'week.png',
      info: { mimetype: 'image/png', size: bytes.length, w: 640, h: 360 },
      url: 'mxc://a/b',
      'm.mentions': {},
    });
  });

  it('that is none is a file', () => {
    const bytes = Buffer.from('a,b');
    expect(pngSize(bytes)).toBeNull();
    expect(pngSize(Buffer.alloc(30))).toBeNull();
    expect(
      file(
        { name: 'p.csv', mime: 'text/csv', alt: '', bytes, at: { url: 'mxc://a/b' } },
        { ...spot, replyTo: '$c' },
      ),
    ).toMatchObject({
      msgtype: 'm.file',
      body: 'p.csv',
      info: { mimetype: 'text/csv', size: 3 },
      'm.relates_to': { 'm.in_reply_to': { event_id: '$c' } },
    });
  });
});
