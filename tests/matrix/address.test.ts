import { describe, expect, it } from 'vitest';
import { numbersIn } from '../../src/surfaces/choice-numbers.ts';
import { isSeveral, KEYCAPS, lineOf, numberOfKey, type Self } from '../../src/surfaces/matrix/address.ts';
import type { Heard } from '../../src/surfaces/matrix/events.ts';

const self: Self = { id: '@thirdhand:shed.test', name: 'Third Hand', prefix: '!th' };
const message = (body: string, more: { html?: string; mentions?: string[] } = {}) => {
  const heard: Extract<Heard, { kind: 'message' }> = {
    kind: 'message',
    eventId: '$1',
    sender: '@ines:shed.test',
    age: 0,
    body,
    html: more.html ?? null,
    mentions: more.mentions ?? [],
    thread: null,
    replyTo: null,
    attachment: null,
    edits: null,
  };
  return heard;
};
const line = (body: string, more: Parameters<typeof message>[1] = {}, direct = false) =>
  lineOf(message(body, more), self, direct, (word) => word === 'worth' || word === 'home');

describe('the prefix', () => {
  it.each([
    ['!th worth "Orrin K3" price:20', '/worth "Orrin K3" price:20'],
    ['!TH worth x', '/worth x'],
    ['!th   worth x', '/worth x'],
    ['!th /worth x', '/worth x'],
    ['!th', '/help'],
    ['!th\nworth x', '/worth x'],
    ['!th ?', '/help'],
    ['!th ??', '/help'],
    ['!th /?', '/help'],
  ])('%s', (body, said) => {
    expect(line(body)).toBe(said);
  });

  it.each([
    '!help',
    '!thing',
    '!thworth',
    'worth x',
    '/worth x',
    'say !th worth',
    '',
    '!th 👍',
    '!th ...',
    '!th 🔋🔋',
  ])('leaves alone: %s', (body) => {
    expect(line(body)).toBeNull();
  });
});

describe('a mention', () => {
  const mentions = [self.id];
  it.each([
    ['Third Hand: worth x', '/worth x'],
    ['third hand, worth x', '/worth x'],
    ['@thirdhand:shed.test: worth x', '/worth x'],
    ['@thirdhand worth x', '/worth x'],
    ['thirdhand worth x', '/worth x'],
    ['Third Hand', '/help'],
  ])('%s', (body, said) => {
    expect(line(body, { mentions })).toBe(said);
  });

  it('may be a link to the profile, as older clients write it', () => {
    const html = (link: string) => ({ html: `<a href="${link}">Third Hand</a>: worth x` });
    expect(line('Third Hand: worth x', html('https://matrix.to/#/@thirdhand:shed.test'))).toBe('/worth x');
    expect(line('Third Hand: worth x', html('https://matrix.to/#/%40thirdhand%3Ashed.test'))).toBe(
      '/worth x',
    );
    expect(line('Third Hand: worth x', html('matrix:u/thirdhand:shed.test'))).toBe('/worth x');
    expect(line('Third Hand: worth x', html('https://matrix.to/#/@thirdhand:shed.testing'))).toBeNull();
  });

  it('is meant for the bot only where it opens the message and is a mention', () => {
    expect(line('Third Hand is slow today')).toBeNull();
    expect(line('thanks, Third Hand', { mentions })).toBeNull();
    expect(line('Third Handle: worth x', { mentions })).toBeNull();
    expect(line('Third Hand: worth x', { mentions: ['@moss:shed.test'] })).toBeNull();
    // The full id stands for nobody else.
    expect(line('@thirdhand:shed.test worth x')).toBe('/worth x');
  });
});

describe('a mention further on', () => {
  const mentions = [self.id];
  it.each([
    ['worth x, Third Hand', '/worth x'],
    ['please, Third Hand: worth x', '/worth x'],
    ['@moss:shed.test says @thirdhand:shed.test worth x', '/worth x'],
    ['/worth x @thirdhand', '/worth x'],
  ])('%s', (body, said) => {
    expect(line(body, { mentions })).toBe(said);
  });
  it.each(['thanks, Third Hand', 'worth x, Third Handle', 'what is it worth, Third Hand?', 'ask Third Hand'])(
    'is talk about the bot where no command stands there: %s',
    (body) => {
      expect(line(body, { mentions })).toBeNull();
    },
  );
});

describe('several lines', () => {
  const several = (body: string, direct = false) =>
    isSeveral(message(body), self, direct, (word) => word === 'worth' || word === 'note');
  it('are several commands where each begins one', () => {
    expect(several('!th worth x\n!th worth y')).toBe(true);
    expect(several('!th worth x\n\n!TH worth y\n')).toBe(true);
    expect(several('worth x\n/note y', true)).toBe(true);
    for (const body of ['!th worth x', '!th worth x\nworth y', '!th worth x\nand more', '!th worth x\n'])
      expect(several(body), body).toBe(false);
    expect(several('note add "first\nsecond line"', true)).toBe(false);
  });
});

describe('a direct room', () => {
  it.each([
    ['worth x', '/worth x'],
    ['/worth x', '/worth x'],
    ['!th worth x', '/worth x'],
    ['Third Hand: worth x', '/Third Hand: worth x'],
  ])('%s', (body, said) => {
    expect(line(body, {}, true)).toBe(said);
  });
});

describe('numbers', () => {
  it('are read from 1 to 99, alone', () => {
    expect(['1', ' 12 ', '#3', '4.', '5)'].map(numbersIn)).toEqual([[1], [12], [3], [4], [5]]);
    expect(['0', '100', 'one', '', '-1', '1.5', '1 and 2', '1 100'].map(numbersIn)).toEqual(
      Array(8).fill(null),
    );
  });
  it('are read several at once, each once', () => {
    expect(['1 2', '2,4', '#3, 5, 12', '2 + 4', '4 2 4'].map(numbersIn)).toEqual([
      [1, 2],
      [2, 4],
      [3, 5, 12],
      [2, 4],
      [4, 2],
    ]);
  });
  it('are read from reactions, with and without the variation selector', () => {
    expect(KEYCAPS.map(numberOfKey)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
    expect(numberOfKey('3\u20E3')).toBe(3);
    expect(['👍', '0️⃣', '3', ''].map(numberOfKey)).toEqual([null, null, null, null]);
  });
});
