/** A form that was refused comes back as it was filled in: nothing that was typed is lost. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { notNull, type Stage, stage, titleOf, wordsOn } from './bot.ts';
import type { Seen } from './loopback/person.ts';
import { isObject, objectsIn, textIn } from './loopback/rules.ts';

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
const modalOf = ({ modal }: Seen) => notNull(modal, 'form');
const messageOf = ({ message }: Seen) => notNull(message);
/** What stands in each field of a form. */
const filledIn = (seen: Seen): Record<string, string> =>
  Object.fromEntries(
    objectsIn(modalOf(seen).components).map((label) => {
      const field = isObject(label.component) ? label.component : {};
      const chosen = objectsIn(field.options).find((one) => one.default === true);
      return [textIn(label.label), chosen ? textIn(chosen.value) : textIn(field.value)];
    }),
  );
const typed = { Model: 'Orrin K3', Symptoms: 'dead, no charge', Came: 'bought', Price: 'lots', Imei: '' };
const refused = async (): Promise<Seen> =>
  on.moss.submit(modalOf(await on.moss.use('job', 'open', {})), { ...typed });

describe('a form that was refused', () => {
  it('comes back with all that was typed, and is taken when it is put right', async () => {
    const seen = await refused();
    expect(seen.ephemeral).toBe(true);
    const again = await on.moss.press(messageOf(seen), AGAIN);
    expect(filledIn(again)).toEqual(typed);
    const opened = await on.moss.submit(modalOf(again), { Price: '20' });
    expect(titleOf(opened.message)).toContain('Job 1 is open: Orrin K3');
  });
  it('comes back after each refusal', async () => {
    const again = await on.moss.press(messageOf(await refused()), AGAIN);
    const once = await on.moss.submit(modalOf(again), { Price: 'less' });
    expect(filledIn(await on.moss.press(messageOf(once), AGAIN))).toEqual({ ...typed, Price: 'less' });
  });
  it('comes back empty when what was typed is kept no more, or by a bot that was restarted', async () => {
    const seen = await refused();
    await on.restart();
    const empty = Object.fromEntries(Object.keys(typed).map((name) => [name, '']));
    expect(filledIn(await on.moss.press(messageOf(seen), AGAIN))).toEqual(empty);
    const late = await refused();
    on.now.at = new Date(on.now.at.getTime() + 16 * 60_000);
    expect(filledIn(await on.moss.press(messageOf(late), AGAIN))).toEqual(empty);
  });
  it('has what was private back for its writer, and no secret', async () => {
    const moss = on.direct(on.people.moss);
    const form = modalOf(await moss.use('note', 'add', {}));
    const long = 'back glass ordered, ask Wren about the long screws';
    const noJob = await moss.submit(form, { Text: long, Job: '77' });
    expect(filledIn(await moss.press(messageOf(noJob), AGAIN))).toEqual({ Text: long, Job: '77' });
    const secret = await moss.submit(form, { Text: 'passcode 4711', Job: '' });
    expect(filledIn(await moss.press(messageOf(secret), AGAIN)).Text).toBe('');
  });
  it('can be told from a command that was refused', async () => {
    const seen = await on.moss.use('job', 'open', { model: 'Orrin K3', came: 'given', price: 'lots' });
    expect(wordsOn(seen.message)).toContain('price');
    expect(on.moss.labels(messageOf(seen))).not.toContain(AGAIN);
  });
});
