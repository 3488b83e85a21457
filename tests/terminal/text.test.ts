import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clean, columnsOf, hang, maskLine, wrap } from '../../src/surfaces/text.ts';

/** Any text, and often with characters that a terminal obeys or that take no column or two. */
const nastyText = fc
  .array(
    fc.oneof(
      fc.string({ unit: 'grapheme' }),
      fc.constantFrom(
        '\u001b[31m',
        '\u001b]0;x\u0007',
        '\u009b2J',
        '\u202e',
        '\r\n',
        '\t',
        '漢字',
        '👩‍🔧',
        'e\u0301',
        ' ',
      ),
    ),
    { maxLength: 12 },
  )
  .map((parts) => parts.join(''));

describe('layout', () => {
  it('measures by columns: wide characters take two (Unicode Standard Annex #11), marks none', () => {
    expect(columnsOf('dead')).toBe(4);
    // U+6F22 and U+5B57 are W (wide) in EastAsianWidth.txt, U+FF21 is F (fullwidth), U+FF71 is H (halfwidth).
    expect(columnsOf('漢字')).toBe(4);
    expect(columnsOf('\uff21')).toBe(2);
    expect(columnsOf('\uff71')).toBe(1);
    expect(columnsOf('e\u0301')).toBe(1);
    expect(columnsOf('👩‍🔧')).toBe(2);
  });
  it('takes escape sequences and control characters away, and keeps line breaks', () => {
    expect(clean('a\u001b[31mred\u001b[0m\tb\r\nc\u0007\u202e')).toBe('ared b\nc');
    expect(clean('\u001b\u001b[31m[31mx')).not.toContain('\u001b');
    expect(clean('\u009b31mx')).not.toContain('\u009b');
  });
  it('masks one for one, so that offsets still hold', () => {
    fc.assert(fc.property(nastyText, (text) => maskLine(text).length === text.length));
    expect(maskLine('a\u001bb\tc')).toBe('a\uFFFDb c');
  });
  it('wraps between words, and loses nothing', () => {
    expect(wrap('the cell comes out first', 10)).toEqual(['the cell', 'comes out', 'first']);
    expect(wrap('one\ntwo', 10)).toEqual(['one', 'two']);
    expect(wrap('abcdefghij', 4)).toEqual(['abcd', 'efgh', 'ij']);
    expect(hang('1. ', 'undo the two screws', 12)).toEqual(['1. undo the', '   two', '   screws']);
    fc.assert(
      fc.property(nastyText, fc.integer({ min: 2, max: 60 }), (text, width) => {
        expect(wrap(text, width).join('').replace(/\s/g, '')).toBe(clean(text).replace(/\s/g, ''));
      }),
    );
  });
  it('cuts a cluster that is itself wider than the line', () => {
    for (const line of wrap('\u{1d158}\u{1d165}\u{1d16e}', 2)) expect(columnsOf(line)).toBeLessThanOrEqual(2);
  });
  it('never makes a line wider than asked', () => {
    fc.assert(
      fc.property(nastyText, fc.integer({ min: 2, max: 60 }), (text, width) =>
        wrap(text, width).every((line) => columnsOf(line) <= width),
      ),
    );
  });
});
