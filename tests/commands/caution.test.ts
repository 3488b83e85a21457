import { describe, expect, it } from 'vitest';
import { cautionDataSchema } from '../../commands/caution.ts';
import { knowledge, testBot, wordsOf } from '../test-bot.ts';

describe('/caution', () => {
  it('lists them all without a name, danger first', () => {
    const reply = testBot().say('/caution');
    const data = cautionDataSchema.parse(reply.data);
    if (data.kind !== 'list') throw new Error('not a list');
    expect(data.cautions).toHaveLength(knowledge().cautions.size);
    expect(reply.blocks.map((block) => ('heading' in block ? block.heading : undefined))).toEqual([
      'Danger',
      'Caution',
      undefined,
    ]);
    expect(reply.audience).toBe('room');
  });

  it.each(['swollen-cell', 'Swollen cell', 'bloated battery', 'PUFFED-BATTERY'])(
    'finds one by %s',
    (name) => {
      const reply = testBot().say(`/caution "${name}"`);
      expect(reply).toMatchObject({
        outcome: 'answered',
        title: 'Swollen cell',
        tone: 'danger',
        audience: 'room',
      });
    },
  );

  it('says the emergency number and disposal of the place', () => {
    // The bench's collective is in AU, where the number is 000.
    const words = wordsOf(testBot().say('/caution swollen-cell'));
    expect(words).toContain('call 000');
    expect(words).toContain('battery drop-off point');
  });

  it('marks what has no source and names the sources of the rest', () => {
    const reply = testBot().say('/caution heat');
    const data = cautionDataSchema.parse(reply.data);
    if (data.kind !== 'caution') throw new Error('not a caution');
    const shown = reply.blocks.flatMap((block) => (block.kind === 'steps' ? block.steps : []));
    const grounds = data.parts.flatMap((part) => part.grounds);
    expect(shown).toHaveLength(grounds.length);
    grounds.forEach((ground, index) => {
      const text = shown[index] ?? '';
      const mark = / (\*+)$/.exec(text)?.[1] ?? '';
      const codes = text === 'Local codes and licensed practice come first.';
      expect(mark, text).toBe(codes ? '' : ground === 'practice' ? '*' : ground === 'memory' ? '**' : '');
    });
    const cited = new Set(grounds.flatMap((ground) => (typeof ground === 'string' ? [] : [ground.source])));
    expect(reply.sources.map(({ id }) => id)).toEqual([...cited]);
    expect(wordsOf(reply)).toContain('* common practice, no source.');
  });

  it('refuses a name it does not know, with the nearest', () => {
    const reply = testBot().say('/caution "swolen cell"');
    expect(reply.outcome).toBe('refused');
    expect(wordsOf(reply)).toContain('Did you mean Swollen cell');
  });
});
