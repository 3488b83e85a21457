/** Words are found in what a platform shows, however it drew them. Against a plain search in the text before it was drawn. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { escapeText } from '../../src/surfaces/discord/escape.ts';
import { renderForMatrix } from '../../src/surfaces/matrix/render.ts';
import { holdsWords, wordsTakenOut } from '../../src/surfaces/removed-words.ts';
import { reply, text } from '../plain-reply.ts';

const word = fc.stringMatching(/^[a-zäß0-9]{3,9}$/);
/** Signs that are escaped in markup, between words. */
const sign = fc.constantFrom(' ', ' * ', '_', ' & ', ' <b> ', " 'q' ", ' #', ' - ', '\n', ': ', '/', ' "x" ');
const words = fc.array(fc.tuple(word, sign), { minLength: 1, maxLength: 6 }).map((parts) =>
  parts
    .map(([one, between]) => one + between)
    .join('')
    .trim(),
);

describe('removed words', () => {
  it('are found and taken out of what Discord shows', () => {
    fc.assert(
      fc.property(words, word, word, (secret, before, after) => {
        fc.pre(!before.includes(secret) && !after.includes(secret));
        const drawn = escapeText(`${before}zq ${secret} zq${after}`);
        const left = wordsTakenOut(drawn, [secret], '[gone]');
        expect(left).toContain('[gone]');
        expect(left).toContain(`${before}zq`);
        expect(left).toContain(`zq${after}`);
        expect(holdsWords(left ?? '', [secret])).toBe(false);
      }),
    );
  });

  it('are found and taken out of what Matrix shows, as text and as HTML', () => {
    fc.assert(
      fc.property(words, (secret) => {
        const [drawn] = renderForMatrix(
          reply({ title: 'Job 1', blocks: [text(`before zq ${secret} zq after`)] }),
        );
        if (!drawn) throw new Error('nothing drawn');
        const body = wordsTakenOut(drawn.body, [secret], '[gone]');
        const html = wordsTakenOut(drawn.html, [secret], '[gone]', 'html');
        expect(body).toContain('before zq [gone]');
        expect(html).toContain('before zq [gone]');
        expect(holdsWords(html ?? '', [secret], 'html')).toBe(false);
      }),
    );
  });

  it('that were cut short are gone as far as they stand there', () => {
    const secret = 'the sister of Anouk has the other charger in her drawer';
    expect(wordsTakenOut('Said: the sister of Anouk has the ot… (Moss)', [secret], '[gone]')).toBe(
      'Said: [gone]… (Moss)',
    );
  });

  it('leave a longer word alone that has them in it', () => {
    expect(wordsTakenOut('look at the hook', ['ook'], '[gone]')).toBeNull();
    expect(wordsTakenOut('an OOK!', ['ook'], '[gone]')).toBe('an [gone]!');
  });
});
