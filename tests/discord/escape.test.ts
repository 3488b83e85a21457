import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  clip,
  codeBlock,
  escapeClipped,
  escapeInline,
  escapeText,
} from '../../src/surfaces/discord/escape.ts';
import { clean, cleanLine } from '../../src/surfaces/text.ts';
import { readMarkup } from './markup.ts';

/** Text that is likely to be markup: its marks, and words that make mentions and addresses. */
const nasty = fc
  .array(
    fc.oneof(
      fc.constantFrom(
        ...'*_~`|<>[]()@#:/\\-+.!1 \n'.split(''),
        '||',
        '```',
        '~~',
        '**',
        '@everyone',
        '@here',
        '<@123456789012345678>',
        '<@&123456789012345678>',
        '<#123456789012345678>',
        '</worth:123456789012345678>',
        '<t:1700000000:R>',
        '<a:wave:123456789012345678>',
        ':smile:',
        'https://example.org/a_b',
        'discord.gg/abc',
        '[words](https://example.org)',
        '\n# head',
        '\n- entry',
        '\n1. entry',
        '\n-# small',
        '\n> said',
        '\n>>> said',
        '\u202e',
        '\u200f',
        '¯\\_(ツ)_/¯',
      ),
      fc.string({ unit: 'grapheme', maxLength: 6 }),
    ),
    { maxLength: 30 },
  )
  .map((parts) => parts.join(''));

describe('the reader of markup', () => {
  it.each([
    ['*a*', 'emphasis'],
    ['a_b_', 'emphasis'],
    ['||a||', 'spoiler'],
    ['~~a~~', 'strike'],
    ['`a`', 'code'],
    ['<@123>', 'mention'],
    ['hello @everyone', 'mention'],
    ['<#123>', 'mention'],
    ['</worth:1>', 'command'],
    ['<t:1:R>', 'time'],
    [':smile:', 'emoji'],
    ['see https://example.org', 'address'],
    ['discord.gg/abc', 'address'],
    ['[a](b)', 'link'],
    ['x\n# a', 'heading'],
    ['x\n> a', 'quote'],
    ['- a', 'list'],
    ['12. a', 'list'],
    ['-# a', 'subtext'],
  ])('sees %j as %s', (text, name) => {
    expect(readMarkup(text).markup).toContain(name);
  });
});

describe('escaping', () => {
  it('leaves no markup, mention or link, and every word as it was', () => {
    fc.assert(
      fc.property(nasty, (text) => {
        const { markup, shown } = readMarkup(escapeText(text));
        expect(markup).toEqual([]);
        expect(shown).toBe(clean(text));
      }),
      { numRuns: 3000 },
    );
  });

  it('does the same on one line, and at the length that is left', () => {
    fc.assert(
      fc.property(nasty, fc.integer({ min: 2, max: 60 }), (text, most) => {
        const whole = readMarkup(escapeInline(text));
        expect(whole.markup).toEqual([]);
        expect(whole.shown).toBe(cleanLine(text).trim());
        const cut = escapeClipped(text, most);
        expect(cut.length).toBeLessThanOrEqual(most);
        expect(readMarkup(cut).markup).toEqual([]);
        expect(cut.includes('\n')).toBe(false);
      }),
      { numRuns: 2000 },
    );
  });

  it('cuts between letters, never inside one', () => {
    expect(clip('Tin Shed', 8)).toBe('Tin Shed');
    expect(clip('Tin Shed', 6)).toBe('Tin S…');
    expect(clip('👩‍🔧👩‍🔧', 6)).toBe('👩‍🔧…');
  });

  it('keeps a block of even letters one block, whatever is in it', () => {
    fc.assert(
      fc.property(fc.array(nasty.map(cleanLine), { minLength: 1, maxLength: 5 }), (lines) => {
        const block = codeBlock(lines);
        const inner = block.slice('```\n'.length, -'\n```'.length);
        expect(inner).not.toMatch(/``/);
        expect(inner.replaceAll('`\u200b', '`')).toBe(lines.join('\n'));
      }),
    );
  });
});
