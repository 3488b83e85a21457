/** That the loopback Discord refuses what Discord refuses: a bot that is held to nothing passes every test. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import {
  checkCallback,
  checkCommand,
  checkFollowUp,
  checkMessage,
  type JsonObject,
} from './loopback/rules.ts';
import { type Loopback, openLoopback } from './loopback/server.ts';
import type { Channel, User } from './loopback/world.ts';

const times = <T>(count: number, make: (index: number) => T): T[] =>
  Array.from({ length: count }, (_, i) => make(i));
const NONE = { allowed_mentions: { parse: [] } };
const button = (id: string, label = 'Go') => ({ type: 2, style: 2, label, custom_id: id });
const row = (...components: JsonObject[]) => ({ type: 1, components });
const png = (name: string) => ({ field: 'files[0]', name, bytes: Buffer.from('x') });

describe('a message', () => {
  it('that is right is taken', () => {
    const body = {
      ...NONE,
      content: 'Hello',
      embeds: [{ title: 'T', description: 'D', image: { url: 'attachment://p.png' } }],
      components: [row(button('a'), button('b'))],
      attachments: [{ id: '0', filename: 'p.png', description: 'A point.' }],
      nonce: 'n',
      enforce_nonce: true,
    };
    expect(checkMessage(body, [png('p.png')])).toEqual([]);
  });
  it.each<[string, JsonObject, RegExp]>([
    ['too long', { content: 'x'.repeat(2001) }, /2000/],
    ['empty', {}, /an empty message/],
    ['with 11 embeds', { embeds: times(11, () => ({ title: 'T' })) }, /embeds/],
    ['with an empty embed', { embeds: [{ color: 1 }] }, /empty/],
    [
      'with 6001 characters in its embeds',
      { embeds: [{ description: 'x'.repeat(4000) }, { description: 'x'.repeat(2001) }] },
      /6001 characters in all/,
    ],
    ['with a title over 256', { embeds: [{ title: 'x'.repeat(257) }] }, /title/],
    ['with an empty field', { embeds: [{ title: 'T', fields: [{ name: ' ', value: 'x' }] }] }, /empty field/],
    [
      'with 6 buttons in a row',
      { content: 'x', components: [row(...times(6, (i) => button(String(i))))] },
      /components/,
    ],
    [
      'with 6 rows',
      { content: 'x', components: times(6, (i) => row(button(String(i)))) },
      /6 rows|components/,
    ],
    ['with a custom_id twice', { content: 'x', components: [row(button('a'), button('a'))] }, /twice/],
    ['with a custom_id over 100', { content: 'x', components: [row(button('a'.repeat(101)))] }, /custom_id/],
    ['with a label over 80', { content: 'x', components: [row(button('a', 'x'.repeat(81)))] }, /label/],
    ['with a nonce over 25', { content: 'x', nonce: 'n'.repeat(26) }, /nonce/],
    ['with a flag that it may not have', { content: 'x', flags: 1 << 15 }, /flags/],
    ['with a key that is not known', { content: 'x', embed: { title: 'T' } }, /\$\.embed is not known/],
    ['that pings', { content: 'x', allowed_mentions: { parse: ['everyone'] } }, /mentions/],
    [
      'with a picture that is not attached',
      { embeds: [{ image: { url: 'attachment://p.png' } }] },
      /not attached/,
    ],
  ])('%s is refused', (_, body, words) => {
    expect(checkMessage({ ...NONE, ...body }, []).join('\n')).toMatch(words);
  });
  it('without a word on mentions is refused', () => {
    expect(checkMessage({ content: 'x' }, [])).toEqual(['allowed_mentions do not forbid every mention']);
    expect(checkFollowUp({ content: 'x' }, [])).toEqual(['allowed_mentions do not forbid every mention']);
  });
  it('with a picture without alternative text is refused', () => {
    const body = { ...NONE, content: 'x', attachments: [{ id: '0', filename: 'p.png' }] };
    expect(checkMessage(body, [png('p.png')])).toEqual(['p.png: a picture without alternative text']);
  });
});

describe('a callback', () => {
  const offer = (choices: JsonObject[]) => checkCallback({ type: 8, data: { choices } }, []);
  it('with 26 completions, or with one over 100 characters, is refused', () => {
    expect(offer(times(25, (i) => ({ name: `n${i}`, value: `v${i}` })))).toEqual([]);
    expect(offer(times(26, (i) => ({ name: `n${i}`, value: `v${i}` }))).join()).toMatch(/26/);
    expect(offer([{ name: 'n', value: 'v'.repeat(101) }]).join()).toMatch(/100/);
  });
  it('with a form of six fields, or a title over 45, is refused', () => {
    const field = (i: number) => ({
      type: 18,
      label: `L${i}`,
      component: { type: 4, custom_id: `f${i}`, style: 1 },
    });
    const form = (count: number, title = 'T') =>
      checkCallback({ type: 9, data: { custom_id: 'f', title, components: times(count, field) } }, []);
    expect(form(5)).toEqual([]);
    expect(form(6)).not.toEqual([]);
    expect(form(1, 'x'.repeat(46))).not.toEqual([]);
  });
  it('of a type that there is not is refused', () => {
    expect(checkCallback({ type: 3 }, [])).toEqual(['callback of type 3']);
  });
});

describe('a command', () => {
  const withOptions = (...options: JsonObject[]) =>
    checkCommand({ type: 1, name: 'hello', description: 'Greet', options });
  const option = (name: string, more: JsonObject = {}) => ({ type: 3, name, description: 'What', ...more });
  it.each<[string, () => string[], RegExp]>([
    [
      'with a capital in its name',
      () => checkCommand({ type: 1, name: 'Hello', description: 'Greet' }),
      /bad name/,
    ],
    [
      'with a space in its name',
      () => checkCommand({ type: 1, name: 'say it', description: 'Greet' }),
      /name/,
    ],
    ['without a description', () => checkCommand({ type: 1, name: 'hello' }), /description of 0/],
    [
      'with a required option after one that is not',
      () => withOptions(option('a'), option('b', { required: true })),
      /required after/,
    ],
    ['with 26 options', () => withOptions(...times(26, (i) => option(`o${i}`))), /options/],
    ['with an option twice', () => withOptions(option('a'), option('a')), /twice/],
    [
      'with choices and completion',
      () => withOptions(option('a', { autocomplete: true, choices: [{ name: 'x', value: 'x' }] })),
      /choices and autocomplete/,
    ],
    [
      'of 8,001 characters',
      () =>
        withOptions(
          ...times(25, (i) =>
            option(`o${i}`, {
              choices: times(25, (k) => ({ name: `${k}`.padEnd(8, 'x'), value: `${k}`.padEnd(8, 'x') })),
            }),
          ),
        ),
      /characters in all/,
    ],
  ])('%s is refused', (_, check, words) => {
    expect(check().join('\n')).toMatch(words);
  });
});

describe('an interaction', () => {
  let loopback: Loopback;
  let user: User;
  let channel: Channel;
  beforeEach(async () => {
    loopback = await openLoopback();
    user = loopback.world.addUser('moss', 'Moss');
    channel = loopback.world.directOf(user);
  });
  afterEach(() => loopback.close());
  const send = () =>
    loopback.interactions.send('command', user.id, channel.id, { id: '1', name: 'x', type: 1 });
  const request = async (method: string, path: string, body?: JsonObject) => {
    const response = await fetch(`${loopback.api}/v10${path}`, {
      method,
      headers: { 'content-type': 'application/json', authorization: `Bot ${loopback.world.token}` },
      ...(body ? { body: JSON.stringify(body) } : {}),
    });
    const text = await response.text();
    const read: { code?: number } = text ? JSON.parse(text) : {};
    return [response.status, read.code];
  };
  const answer = { type: 4, data: { ...NONE, content: 'x' } };

  it('is answered once', async () => {
    const { id, token } = send();
    expect(await request('POST', `/interactions/${id}/${token}/callback`, answer)).toEqual([204, undefined]);
    expect(await request('POST', `/interactions/${id}/${token}/callback`, answer)).toEqual([400, 40060]);
  });
  it('is not known under another token', async () => {
    const { id } = send();
    expect(await request('POST', `/interactions/${id}/other/callback`, answer)).toEqual([404, 10062]);
  });
  it('is gone after its time', async () => {
    loopback.interactions.deadlineMs = 0;
    const { id, token } = send();
    expect(await request('POST', `/interactions/${id}/${token}/callback`, answer)).toEqual([404, 10062]);
  });
  it('is not answered with what is for another kind', async () => {
    const { id, token } = send();
    expect(await request('POST', `/interactions/${id}/${token}/callback`, { type: 6 })).toEqual([400, 50035]);
    expect(loopback.problems.join()).toContain('a command cannot be answered with callback 6');
  });
  it('has no original before its answer, and no follow-up before the deferred answer is there', async () => {
    const { id, token } = send();
    const app = loopback.world.application;
    const edit = { ...NONE, content: 'y' };
    expect((await request('PATCH', `/webhooks/${app}/${token}/messages/@original`, edit))[0]).toBe(404);
    await request('POST', `/interactions/${id}/${token}/callback`, { type: 5 });
    expect((await request('POST', `/webhooks/${app}/${token}`, edit))[0]).toBe(400);
    expect((await request('PATCH', `/webhooks/${app}/${token}/messages/@original`, edit))[0]).toBe(200);
    expect((await request('POST', `/webhooks/${app}/${token}`, edit))[0]).toBe(200);
  });
  it('is told when a route is not known, or a token is not its own', async () => {
    expect((await request('GET', '/nowhere'))[0]).toBe(404);
    expect(loopback.problems.join()).toContain('no route');
    const response = await fetch(`${loopback.api}/v10/gateway/bot`, {
      headers: { authorization: 'Bot x.y.z' },
    });
    expect(response.status).toBe(401);
  });
});
