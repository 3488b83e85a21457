import { describe, expect, it } from 'vitest';
import { asSaidHere, roughly } from '../../src/surfaces/matrix/wording.ts';
import { facts, reply, steps, table, text } from '../plain-reply.ts';

const names = ['worth', 'trace', 'week'];
const said = (words: string) => asSaidHere(reply({ title: words }), '!th', names).title;

describe('commands in a reply', () => {
  it.each([
    ['/worth "Orrin K3"', '!th worth "Orrin K3"'],
    ['Say: /trace show 3, or (/worth).', 'Say: !th trace show 3, or (!th worth).'],
    ['“/worth”', '“!th worth”'],
    ['/worthy and /weekly', '/worthy and /weekly'],
    ['https://shed.test/worth', 'https://shed.test/worth'],
    ['a/worth', 'a/worth'],
    ['/help', '/help'],
  ])('%s', (words, here) => {
    expect(said(words)).toBe(here);
  });

  it('are written as they are said, in every block but other people’s words', () => {
    const made = reply({
      title: 't',
      cautions: [{ id: 'c', name: 'n', tone: 'caution', lead: '/worth', points: ['/worth'] }],
      blocks: [
        text('/worth'),
        facts([['/worth', '/worth']]),
        table(['/worth'], [['/worth']]),
        steps(['/worth']),
        { kind: 'quote', text: '/worth' },
      ],
    });
    expect(asSaidHere(made, '!th', names)).toMatchObject({
      cautions: [{ lead: '!th worth', points: ['!th worth'] }],
      blocks: [
        { text: '!th worth' },
        { facts: [{ label: '/worth', value: '!th worth' }] },
        { rows: [['!th worth']] },
        { steps: ['!th worth'] },
        { text: '/worth' },
      ],
    });
  });

  it('keep their mark in the right place', () => {
    const line = '/worth price:x';
    const pointed = (from: number, to: number) =>
      asSaidHere(reply({ title: 't', blocks: [{ kind: 'pointer', line, from, to }] }), '!th', names)
        .blocks[0];
    expect(pointed(7, 14)).toEqual({ kind: 'pointer', line: '!th worth price:x', from: 10, to: 17 });
    expect(pointed(0, 6)).toEqual({ kind: 'pointer', line: '!th worth price:x', from: 0, to: 9 });
  });
});

describe('a time that has passed', () => {
  it('is said roughly', () => {
    const minute = 60_000;
    expect(
      [1000, 3 * minute, 89 * minute, 90 * minute, 35 * 60 * minute, 50 * 60 * minute].map(roughly),
    ).toEqual(['1 min', '3 min', '89 min', '2 h', '35 h', '2 days']);
  });
});
