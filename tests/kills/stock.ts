/** What changes are made of while the program is killed: parts, finished jobs, entries and models, each good for one. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { money } from '../../shared/money/money.ts';
import type { Store } from '../../shared/store/index.ts';
import { actor } from '../actors.ts';
import { finishJob } from '../clock/finished.ts';
import { greyJpeg } from '../photos/grey-jpeg.ts';
import { FAMILY, MODEL, restoredModel, type Stock, WIPED_JOB } from './ledger.ts';

const DAY_MS = 24 * 3600_000;

/** So many of each are put into the store. */
export function putInStock(store: Store, many: number): Stock {
  const by = actor('Ines');
  const at = new Date(Date.now() - 5 * DAY_MS);
  const hand = { by, at };
  const endedAt = at.toISOString();
  const { currency } = store.collective.settings;
  const model = store.models.findByName(MODEL);
  const each = <T>(make: (place: number) => T): T[] =>
    Array.from({ length: many }, (_, place) => make(place));
  const take = each(
    () =>
      store.shelf.add(
        {
          ...{ component: 'battery', family: FAMILY, model: model?.id ?? null, grade: 'copy', tested: true },
          ...{ price: money(1400, currency), currency, supplier: '', donor: null, paired: false },
          ...{ place: 'drawer B', due: null },
        },
        'added',
        hand,
      ).number,
  );
  const returned = each(() => finishJob(store, { endedAt, openedAt: endedAt, paid: 0 }));
  const photo = each(() => finishJob(store, { endedAt, openedAt: endedAt, paid: 0 }));
  const entries = each((place) => ({ kind: 'said' as const, text: `words ${place}` }));
  const after = store.jobs.add(WIPED_JOB, entries, hand);
  const wipe = after.entries.flatMap(({ seq, entry }) => (entry.kind === 'said' ? [seq] : []));
  const restore = each((place) => {
    const named = { name: restoredModel(place), launched: null, newPrice: null, by, at };
    store.models.save({ ...named, family: FAMILY });
    store.models.save({ ...named, family: 'budget-port-on-board' });
    return place;
  });
  return { take, returned, photo, wipe, restore };
}

/** A photo, for an attachment and as a file. */
export function photoFile(folder: string): { file: string; bytes: Buffer; type: string; path: string } {
  const path = join(folder, 'photo.jpg');
  const bytes = greyJpeg([[20, 240]]);
  writeFileSync(path, bytes);
  return { file: 'photo.jpg', bytes, type: 'image/jpeg', path };
}
