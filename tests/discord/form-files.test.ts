/** A file that was not given with its command is asked for in a form. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { greyJpeg } from '../photos/grey-jpeg.ts';
import { notNull, type Stage, stage, titleOf, wordsOn } from './bot.ts';
import type { Seen } from './loopback/person.ts';
import { checkCallback, type JsonObject, objectsIn } from './loopback/rules.ts';
import type { Message } from './loopback/world.ts';

let on: Stage;
beforeEach(async () => {
  on = await stage();
  await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});

const AGAIN = 'Fill it in again';
const modalOf = ({ modal }: Seen): JsonObject => notNull(modal, 'form');
const messageOf = ({ message }: Seen): Message => notNull(message);
const jpeg = (): Buffer => Buffer.concat([greyJpeg([[20, 240]]), Buffer.from('CAM-4711')]);
const openJob = () => on.ines.use('job', 'open', { model: 'Orrin K3', came: 'given', symptoms: 'dead' });
const header = 'date,kind,what,component,grade,storage,price,currency,how,note';

describe('a form with a file', () => {
  it('is one that Discord takes: a label around an upload, and nothing that the description does not know', async () => {
    const modal = modalOf(await on.ines.use('prices', 'import', {}));
    expect(objectsIn(modal.components)).toMatchObject([
      { type: 18, label: 'File', component: { type: 19, custom_id: 'file', required: true } },
    ]);
    const [label = {}] = objectsIn(modal.components);
    const withLine = { ...label, component: { type: 19, custom_id: 'file', style: 1 } };
    expect(checkCallback({ type: 9, data: { ...modal, components: [withLine] } }, [])).not.toEqual([]);
  });

  it('takes a photo as its option does: drawn anew, without what lies behind it', async () => {
    await openJob();
    const modal = modalOf(await on.ines.use('job', 'photo', { job: '1' }));
    const photo = { file: 'front.jpg', bytes: jpeg(), type: 'image/jpeg' };
    const kept = await on.ines.submit(modal, { File: photo, When: 'end' });
    expect(titleOf(kept.message)).toMatch(/photo 1 is kept/);
    const shown = await on.ines.use('job', 'photos', {});
    const [file] = shown.message?.attachments ?? [];
    expect(file?.bytes.subarray(1, 4).toString('latin1')).toBe('PNG');
    expect(file?.bytes.includes('CAM-4711')).toBe(false);
    expect(wordsOn(shown.message)).toContain('end');
  });

  it('takes prices as its option does', async () => {
    const row = '2026-02-11,phone,Orrin K3,,0,64,151.00,AUD,sold,';
    const modal = modalOf(await on.ines.use('prices', 'import', {}));
    const seen = await on.ines.submit(modal, {
      File: { file: 'prices.csv', bytes: Buffer.from(`${header}\n${row}\n`) },
    });
    expect(titleOf(seen.message)).toMatch(/^✓ Imported 1 price/);
  });

  it('comes back after a file that cannot be used, with all else filled in', async () => {
    await openJob();
    const modal = modalOf(await on.ines.use('job', 'photo', {}));
    const wrong = { file: 'front.jpg', bytes: Buffer.from('no photo'), type: 'image/jpeg' };
    const refused = await on.ines.submit(modal, { File: wrong, When: 'end' });
    expect(refused.ephemeral).toBe(true);
    expect(wordsOn(refused.message)).toContain('no photo that can be read');
    const again = modalOf(await on.ines.press(messageOf(refused), AGAIN));
    const photo = { file: 'front.jpg', bytes: jpeg(), type: 'image/jpeg' };
    const kept = await on.ines.submit(again, { File: photo });
    expect(titleOf(kept.message)).toMatch(/photo 1 is kept/);
    expect(wordsOn((await on.ines.use('job', 'photos', {})).message)).toContain('end');
  });

  it('does not open where the file was given', async () => {
    await openJob();
    const file = { file: 'front.jpg', bytes: jpeg(), type: 'image/jpeg' };
    expect((await on.ines.use('job', 'photo', { file })).modal).toBeNull();
  });
});
