/** Words of danger at the terminal: the card is the first thing on the screen, whatever the command came to. */
import { describe, expect, it } from 'vitest';
import { renderAsText } from '../../src/surfaces/text-render.ts';
import { testBot } from '../test-bot.ts';

const window = { width: 80, colour: false };

describe('words of danger at a terminal', () => {
  it.each(['/trace fire', 'it smokes', '/nonsense the cell hisses', '/worth "burning smell"'])(
    '%s',
    (line) => {
      const screen = renderAsText(testBot().say(line), window);
      const [first = '', , head = ''] = screen.split('\n');
      expect(first).toContain('Local codes and licensed practice come first.');
      expect(head).toContain('DANGER: Punctured, hot or smoking cell');
      expect(screen).toContain('000');
      const answer = Math.max(
        ...['✗', 'I read', 'How does this phone open?'].map((one) => screen.indexOf(one)),
      );
      expect(screen.indexOf('DANGER')).toBeLessThan(answer);
    },
  );
});
