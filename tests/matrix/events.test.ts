import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { ownJoin } from '../../src/surfaces/matrix/client.ts';
import { type Heard, hear } from '../../src/surfaces/matrix/events.ts';

/** Recorded from the sync of Synapse 1.163.2: what @thirdhand was sent of a room with @ines. */
const recorded = z
  .record(z.string(), z.looseObject({ event_id: z.string(), content: z.looseObject({}) }))
  .parse(JSON.parse(readFileSync(new URL('recorded.json', import.meta.url), 'utf8')));
const own = '@thirdhand:shed.test';
const at = (name: string) => recorded[name] ?? { event_id: 'none', content: {} };
const now = new Date('2026-03-02T09:00:00Z');
const heard = (name: string): Heard | null => hear(at(name), own, now);

describe('what is heard of a room', () => {
  it('takes a message with its words, its thread and what it answers', () => {
    expect(heard('command')).toMatchObject({
      kind: 'message',
      eventId: at('command').event_id,
      sender: '@ines:shed.test',
      body: '!th worth "Orrin K3" price:20',
      thread: null,
      replyTo: null,
      mentions: [],
    });
    expect(heard('mention')).toMatchObject({ mentions: [own] });
    // A thread's own fallback answers nothing; a reply in a thread does.
    expect(heard('threaded')).toMatchObject({ body: '2', thread: at('command').event_id, replyTo: null });
    expect(heard('threadedReply')).toMatchObject({
      thread: at('command').event_id,
      replyTo: at('own').event_id,
    });
    expect(heard('reply')).toMatchObject({ body: '3', thread: null, replyTo: at('own').event_id });
  });

  it('takes a reaction with what it is on', () => {
    expect(heard('reaction')).toMatchObject({ kind: 'reaction', key: '2️⃣', target: at('own').event_id });
  });

  it.each(['own', 'notice', 'emote', 'gone', 'redaction', 'topic', 'join'])(
    'hears nothing in: %s',
    (name) => {
      expect(recorded[name]).toBeDefined();
      expect(heard(name)).toBeNull();
    },
  );

  it('takes an edit as the new words of the message that it mends', () => {
    const fresh = { msgtype: 'm.text', body: '!th family list', 'm.relates_to': { rel_type: 'm.thread' } };
    const content = {
      msgtype: 'm.text',
      body: '* !th family list',
      'm.new_content': fresh,
      'm.relates_to': { rel_type: 'm.replace', event_id: '$slip' },
    };
    const edit = hear({ ...at('command'), content }, own, now);
    expect(edit).toMatchObject({ kind: 'message', body: '!th family list', edits: '$slip', thread: null });
    expect(heard('command')).toMatchObject({ edits: null });
    const empty = { ...content, 'm.new_content': undefined };
    expect(hear({ ...at('command'), content: empty }, own, now)).toBeNull();
  });

  it('takes a file for words only where words came with it', () => {
    expect(heard('file')).toBeNull();
    expect(heard('captioned')).toMatchObject({
      kind: 'message',
      body: '!th prices import',
      attachment: { name: 'prices.csv', url: 'mxc://shed.test/abcdefghijklmnop', sealed: null, size: 120 },
    });
  });

  it('knows that something was said which it cannot read', () => {
    expect(heard('sealed')).toMatchObject({ kind: 'sealed', sender: '@ines:shed.test' });
  });

  it('trusts the homeserver for how long ago it was, and never goes below nothing', () => {
    const sent = (unsigned: object, origin_server_ts: number) =>
      hear({ ...at('command'), unsigned, origin_server_ts }, own, now)?.age;
    expect(sent({ age: 90_000 }, now.getTime())).toBe(90_000);
    expect(sent({}, now.getTime() - 60_000)).toBe(60_000);
    expect(sent({}, now.getTime() + 60_000)).toBe(0);
  });

  it('hears nothing in what is no event', () => {
    for (const raw of [null, 'text', {}, { type: 'm.room.message' }, { ...at('command'), content: 'text' }])
      expect(hear(raw, own, now)).toBeNull();
    expect(hear({ ...at('command'), content: { msgtype: 'm.text', body: 5 } }, own, now)).toBeNull();
  });
});

describe("the bot's own join", () => {
  it('is found, and told from a change of its name', () => {
    const join = at('join');
    const renamed = { ...join, unsigned: { prev_content: { membership: 'join' } } };
    expect(ownJoin([at('command'), join, at('own')], own)).toBe(1);
    expect(ownJoin([at('command'), join, at('own'), renamed], own)).toBe(1);
    expect(ownJoin([at('command'), renamed], own)).toBe(-1);
    expect(ownJoin([join], '@ines:shed.test')).toBe(-1);
  });
});
