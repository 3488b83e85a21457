import { expect, it } from 'vitest';
import { patienceOf } from '../../src/surfaces/matrix/patience.ts';

const MINUTE = 60_000;

it('runs out after five refusals in a row, in that room and with that person, for ten minutes', () => {
  let now = 0;
  const patience = patienceOf(() => now);
  const refuse = (eventId: string) => patience.refused('!room', '@bot', eventId);
  expect(['1', '2', '3', '4'].map(refuse)).toEqual([false, false, false, false]);
  // The same refusal, tried again while the homeserver is away, is one.
  expect(['4', '4', '4'].map(refuse)).toEqual([false, false, false]);
  expect(patience.isOver('!room', '@bot')).toBe(false);
  expect(refuse('5')).toBe(true);
  expect(patience.isOver('!room', '@bot')).toBe(true);
  expect(patience.isOver('!room', '@ines')).toBe(false);
  expect(patience.isOver('!other', '@bot')).toBe(false);
  now += 10 * MINUTE;
  expect(patience.isOver('!room', '@bot')).toBe(false);
});

it('comes back with an answer, and with time', () => {
  let now = 0;
  const patience = patienceOf(() => now);
  for (const id of ['1', '2', '3', '4']) patience.refused('!room', '@ines', id);
  patience.answered('!room', '@ines');
  expect(patience.refused('!room', '@ines', '5')).toBe(false);
  for (const id of ['6', '7', '8']) patience.refused('!room', '@ines', id);
  now += 6 * MINUTE;
  expect(patience.refused('!room', '@ines', '9')).toBe(false);
});
