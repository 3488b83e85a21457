import { stripVTControlCharacters } from 'node:util';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { refusalReply } from '../../commands/framework/refusal.ts';
import { inWords } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { typed } from '../../shared/language/say.ts';
import { columnsOf } from '../../src/surfaces/text.ts';
import { drawingWidth, renderAsText } from '../../src/surfaces/text-render.ts';
import { type Block, facts, type Reply, reply, steps, table, text } from '../plain-reply.ts';
import { testBot } from '../test-bot.ts';

const plain = (width = 60) => ({ width, colour: false });
const drawn = (block: Block, width = 60) =>
  renderAsText(reply({ title: 'T', blocks: [block] }), plain(width))
    .trimEnd()
    .split('\n')
    .slice(2);
const bars = (...pairs: [string, number][]): Block => ({
  kind: 'bars',
  bars: pairs.map(([label, share]) => ({ label, share })),
});

describe('drawing a reply', () => {
  it('puts the cautions before everything else, marked by a word and a bar', () => {
    const card = {
      id: 'c',
      name: 'Swollen cell',
      tone: 'danger',
      lead: 'Stop.',
      points: ['Do not press it.'],
    } as const;
    const lines = renderAsText(
      reply({
        title: 'Open it',
        tone: 'good',
        cautions: [{ ...card, points: [...card.points] }],
        blocks: [text('First the screws.')],
        choices: [
          { label: '0.00 A, nothing', invoke: { command: 'trace', action: 'answer', options: {} } },
          { label: 'Stop here', invoke: { command: 'trace', action: 'stop', options: {} } },
        ],
        sources: [{ id: 's', title: 'IEC: IEC 62133-2:2017' }],
      }),
      plain(),
      ['Saved: out/x.csv'],
    );
    expect(lines.split('\n')).toEqual([
      '◆ DANGER: Swollen cell',
      '┃ Stop.',
      '┃ - Do not press it.',
      '',
      '✓ Open it',
      '',
      'First the screws.',
      '',
      'Answer with a number:',
      '  1  0.00 A, nothing',
      '  2  Stop here',
      '',
      'Sources',
      '- IEC: IEC 62133-2:2017',
      '',
      'Saved: out/x.csv',
      '',
    ]);
  });
  it('sets facts in two columns', () => {
    expect(
      drawn(
        facts(
          [
            ['Bench time', 'about 15 min'],
            ['Cell', 'AUD 14.00'],
          ],
          'What it takes',
        ),
      ),
    ).toEqual(['What it takes', '  Bench time  about 15 min', '  Cell        AUD 14.00']);
    expect(
      drawn(facts([['Loses', 'a warning and some more words that do not fit on one line']]), 40),
    ).toEqual(['Loses  a warning and some more words', '       that do not fit on one line']);
  });
  it('numbers ordered steps, and hangs long ones', () => {
    expect(drawn(steps(['Unplug the cell before anything else is touched.', 'Lift.']), 40)).toEqual([
      '1. Unplug the cell before anything else',
      '   is touched.',
      '2. Lift.',
    ]);
    expect(drawn(steps(['Lift.'], undefined, false))).toEqual(['- Lift.']);
  });
  it('draws tables, wraps their words, and falls back to labels where the window is too narrow', () => {
    const wide = table(
      ['Way', '>Most to pay'],
      [
        ['Restore', '71.75'],
        ['Strip for parts', 'nothing'],
      ],
    );
    expect(drawn(wide)).toEqual([
      'Way              Most to pay',
      '───────────────  ───────────',
      'Restore                71.75',
      'Strip for parts      nothing',
    ]);
    expect(
      drawn(
        table(['Setting', 'What it does'], [['risk', 'The highest chance of a loss that you accept']]),
        40,
      ),
    ).toEqual([
      'Setting  What it does',
      '───────  ───────────────────────────────',
      'risk     The highest chance of a loss',
      '         that you accept',
    ]);
    const many = table(
      ['', '>Expected to leave', '>8 times in 10', '>Bench time'],
      [['Restore', '63.34', '42.40 to 83.50', '18 min']],
    );
    expect(drawn(many, 40)).toEqual([
      '- Restore',
      '  Expected to leave: 63.34',
      '  8 times in 10: 42.40 to 83.50',
      '  Bench time: 18 min',
    ]);
    expect(drawn(table(['A'], []))).toEqual(['(none)']);
  });
  it('draws shares to an eighth of a column, and never nothing for something', () => {
    const line = (label: string, blocks: string, share: string) =>
      `${label}  ${blocks.padEnd(20)}  ${share.padStart(9)}`;
    expect(drawn(bars(['half', 0.5], ['all ', 1], ['some', 0.0001], ['none', 0]), 80)).toEqual([
      line('half', '█'.repeat(10), '50 %'),
      line('all ', '█'.repeat(20), '100 %'),
      line('some', '▏', 'under 1 %'),
      line('none', '', '0 %'),
    ]);
    expect(drawn(bars(['x', 0.33]), 80)).toEqual(['x  ██████▋               33 %']);
  });
  it('puts the caret under the part, also behind wide characters, and behind the end for what is missing', () => {
    const pointer = (line: string, from: number, to: number, width = 60) =>
      drawn({ kind: 'pointer', line, from, to }, width);
    expect(pointer('/worth price:x', 7, 14)).toEqual(['/worth price:x', '       ^^^^^^^']);
    expect(pointer('/worth 漢字 x', 10, 11)).toEqual(['/worth 漢字 x', '            ^']);
    expect(pointer('/worth 👩‍🔧 x', 13, 14)).toEqual(['/worth 👩‍🔧 x', '          ^']);
    expect(pointer('/trace', 6, 7)).toEqual(['/trace', '      ^']);
    expect(pointer('a\tb\u001bc', 4, 5)).toEqual(['a b\uFFFDc', '    ^']);
  });
  it('shows the surroundings of the part when the line is longer than the window', () => {
    const line = `/note ${'x'.repeat(500)} price:-3 ${'y'.repeat(500)}`;
    const from = line.indexOf('price');
    const [shown = '', marks = ''] = drawn({ kind: 'pointer', line, from, to: from + 8 }, 40);
    expect(columnsOf(shown)).toBeLessThanOrEqual(40);
    expect(shown.slice(marks.indexOf('^'), marks.lastIndexOf('^') + 1)).toBe('price:-3');
  });
  it('marks a refusal by a sign, not by colour', () => {
    const shown = renderAsText(
      inWords(refusalReply({ code: 'bad-option', problem: typed('No.'), expected: typed('yes') })),
      plain(),
    );
    expect(shown).toBe('✗ No.\n\nExpected: yes\n');
  });
  it('says with colour only what it says without', () => {
    const { say } = testBot();
    say('/family name "Orrin K3" as:glued-front-home-sensor');
    for (const line of ['/trace dead model:"Orrin K3"', '/caution swollen-cell', '/help', '/wrong']) {
      const made = say(line);
      const coloured = renderAsText(made, { width: 80, colour: true });
      expect(coloured).toContain('\u001b[');
      expect(stripVTControlCharacters(coloured)).toBe(renderAsText(made, plain(80)));
    }
  });
  it('takes the width from 40 to 100, and 80 where there is no window', () => {
    expect([undefined, 0, 20, 60, 300].map(drawingWidth)).toEqual([80, 80, 40, 60, 100]);
  });
});

const nasty = fc
  .array(
    fc.oneof(
      fc.string({ maxLength: 30 }),
      fc.string({ unit: 'grapheme', maxLength: 10 }),
      fc.constantFrom(
        '\u001b[2J',
        '\u001b]8;;x\u0007',
        '\u009b1m',
        '\u0000',
        '\n',
        '\t',
        '漢字'.repeat(20),
        '👩‍🔧',
        'w'.repeat(120),
        ' ',
      ),
    ),
    { maxLength: 5 },
  )
  .map((parts) => parts.join(''));
const anyBlock: fc.Arbitrary<Block> = fc.oneof(
  nasty.map((body) => text(body, body)),
  fc.array(fc.tuple(nasty, nasty), { maxLength: 3 }).map((rows) => facts(rows, 'h')),
  fc.array(nasty, { maxLength: 3 }).map((lines) => steps(lines)),
  fc
    .tuple(
      fc.array(nasty, { minLength: 1, maxLength: 5 }),
      fc.array(fc.array(nasty, { maxLength: 6 }), { maxLength: 3 }),
    )
    .map(([columns, rows]) => table(columns, rows)),
  fc
    .array(fc.tuple(nasty, fc.float({ min: 0, max: 1, noNaN: true })), { maxLength: 3 })
    .map((pairs) => bars(...pairs)),
  fc.tuple(nasty, nasty).map(([quote, by]): Block => ({ kind: 'quote', text: quote, by })),
  fc
    .tuple(nasty, fc.nat(200), fc.nat(200))
    .map(([line, from, size]): Block => ({ kind: 'pointer', line, from, to: from + size })),
);
const anyReply: fc.Arbitrary<Reply> = fc
  .tuple(nasty, fc.array(anyBlock, { maxLength: 4 }), fc.array(nasty, { maxLength: 12 }))
  .map(([title, blocks, labels]) =>
    reply({
      title,
      blocks,
      cautions: [{ id: 'x', name: title, tone: 'danger', lead: title, points: labels }],
      choices: labels.map((label) => ({ label, invoke: { command: 'x', action: '', options: {} } })),
      sources: [{ id: 'x', title }],
    }),
  );

describe('any reply', () => {
  it('is never wider than the window, and sends the terminal no control character', () => {
    fc.assert(
      fc.property(anyReply, fc.integer({ min: 40, max: 100 }), nasty, (made, width, note) => {
        const lines = renderAsText(made, plain(width), [note]).split('\n');
        for (const line of lines) {
          expect(line).not.toMatch(/[\p{Cc}\u202a-\u202e\u2066-\u2069]/u);
          expect(columnsOf(line)).toBeLessThanOrEqual(width);
        }
      }),
    );
  });
  it('fits also when it comes from a command', () => {
    const { say } = testBot();
    say('/family name "Orrin K3" as:glued-front-home-sensor');
    const examples = commands.flatMap(({ actions }) => Object.values(actions).flatMap((one) => one.examples));
    for (const width of [40, 57, 100]) {
      for (const line of renderAsText(say('/help'), plain(width)).split('\n'))
        expect(columnsOf(line)).toBeLessThanOrEqual(width);
      for (const example of examples)
        for (const line of renderAsText(say(example), plain(width)).split('\n'))
          expect(columnsOf(line)).toBeLessThanOrEqual(width);
    }
  });
});
