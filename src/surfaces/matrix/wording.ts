/** Replies speak of `/worth`; on Matrix, where clients keep `/` for themselves, it is said as `!th worth`. Pure. */

import type { Block, Reply } from '../../../commands/framework/reply.ts';
import { render } from '../../../shared/language/render.ts';
import { counted, quantity } from '../../../shared/language/say.ts';

/** The reply with every command in it written as it is said here. */
export function asSaidHere(reply: Reply, prefix: string, commands: readonly string[]): Reply {
  if (!commands.length) return reply;
  const pattern = new RegExp(`(^|[\\s("'“‘])/(${commands.join('|')})(?![\\w/-])`, 'gu');
  const said = (text: string): string =>
    text.replace(pattern, (_, before: string, name: string) => `${before}${prefix} ${name}`);
  const saidIn = (block: Block): Block => {
    switch (block.kind) {
      case 'text':
        return { ...block, text: said(block.text) };
      case 'facts':
        return { ...block, facts: block.facts.map(({ label, value }) => ({ label, value: said(value) })) };
      case 'table':
        return { ...block, rows: block.rows.map((row) => row.map(said)) };
      case 'steps':
        return { ...block, steps: block.steps.map(said) };
      case 'pointer': {
        if (!block.line.startsWith('/')) return block;
        const shift = prefix.length;
        return {
          ...block,
          line: `${prefix} ${block.line.slice(1)}`,
          // A mark under the slash itself stays at the beginning.
          from: block.from === 0 ? 0 : block.from + shift,
          to: block.to + shift,
        };
      }
      // Somebody's own words, and shares.
      case 'quote':
      case 'bars':
        return block;
    }
  };
  return {
    ...reply,
    title: said(reply.title),
    cautions: reply.cautions.map((card) => ({
      ...card,
      lead: said(card.lead),
      points: card.points.map(said),
    })),
    blocks: reply.blocks.map(saidIn),
  };
}

/** How long ago, roughly: "4 min", "3 h", "2 days". */
export function roughly(milliseconds: number): string {
  const minutes = Math.round(milliseconds / 60_000);
  if (minutes < 90) return render(quantity(Math.max(1, minutes), 'min'));
  const hours = Math.round(minutes / 60);
  return render(hours < 36 ? quantity(hours, 'h') : counted(Math.round(hours / 24), '{0} day', '{0} days'));
}
