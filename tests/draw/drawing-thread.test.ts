import { afterAll, describe, expect, it } from 'vitest';
import type { ReplyFile } from '../../commands/framework/reply.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import { drawingThread } from '../../src/draw/drawing-thread.ts';
import { finishJob } from '../clock/finished.ts';
import { testBot } from '../test-bot.ts';

const thread = drawingThread();
afterAll(() => thread.stop());

/** The picture of a week in which one phone was restored. */
function weekPicture(sold: number): ReplyFile {
  const bot = testBot();
  finishJob(bot.store, { endedAt: '2026-02-24T01:00:00Z', paid: 24, sold, minutes: 75, by: 'Ines' });
  const [file] = bot.say('/week preview 2026-W09').files;
  if (!file) throw new Error('no picture');
  return file;
}

describe('a drawing in a thread of its own', () => {
  it('is the one that is drawn here, to the byte', async () => {
    const file = weekPicture(138);
    expect((await thread.draw(file)).equals(await drawFile(file))).toBe(true);
  });

  it('lets everything else go on meanwhile', async () => {
    let turns = 0;
    let drawing = true;
    const turn = (): void => {
      turns += 1;
      if (drawing) setImmediate(turn);
    };
    setImmediate(turn);
    await thread.draw(weekPicture(139));
    drawing = false;
    // Drawn here it takes some long turns; a loop that is free makes thousands.
    expect(turns).toBeGreaterThan(200);
  });

  it('is kept: the same data are drawn once, others anew', async () => {
    const file = weekPicture(140);
    const [first, again, other] = await Promise.all([
      thread.draw(file),
      thread.draw({ ...file, name: 'other.png' }),
      thread.draw(weekPicture(141)),
    ]);
    expect(again).toBe(first);
    expect(other.equals(first)).toBe(false);
  });

  it('that cannot be done says why, and the next one is done', async () => {
    const file = weekPicture(142);
    await expect(thread.draw({ ...file, draw: { kind: 'nothing', data: null } })).rejects.toThrow(
      'no drawing',
    );
    expect((await thread.draw(file)).length).toBeGreaterThan(1000);
  });

  it('goes on in a new thread where the one before ended', async () => {
    await thread.stop();
    expect((await thread.draw(weekPicture(143))).length).toBeGreaterThan(1000);
  });

  it('needs none for a file that is text', async () => {
    const bytes = await thread.draw({ name: 'a.csv', mime: 'text/csv', alt: 'a', text: 'a,b' });
    expect(bytes.toString()).toBe('a,b');
  });
});
