/**
 * A whole job on Discord, from intake to hand-over, with taps alone but for three numbers: what was paid, what a meter reads, what
 * it brought. What it takes is counted; `tests/discord/README.md` has the figures.
 */
import { afterEach, beforeEach, expect, it } from 'vitest';
import { type Stage, stage, titleOf } from './bot.ts';
import type { Seen } from './loopback/person.ts';
import type { Message } from './loopback/world.ts';

let on: Stage;
beforeEach(async () => {
  on = await stage();
  await on.ines.use('family', 'name', {
    model: 'Orrin K3',
    as: 'glued-front-home-sensor',
    launched: '2023-09',
    'new-price': '649',
  });
  for (const price of ['180', '165', '172'])
    await on.ines.use('prices', 'add', { what: 'Orrin K3', price, how: 'sold', condition: 'good' });
  await on.ines.use('prices', 'add', { what: 'Orrin K3', price: '14', component: 'battery', grade: 'copy' });
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});

/** Counts what somebody does: each press, each entry picked from a list (and the tap that opens it), and what is typed. */
class Hand {
  taps = 0;
  words = 0;
  numbers: string[] = [];
  readonly path: string[] = [];
  message!: Message;

  private shows(seen: Seen): void {
    if (seen.message) this.message = seen.message;
    this.path.push(`[${titleOf(this.message)}]`);
  }
  title(): string {
    return titleOf(this.message);
  }
  labels(): string[] {
    return on.moss.labels(this.message);
  }
  /** A command from the list of commands: a tap; each option picked from its list two, a typed one its word; sent by a tap. */
  async command(name: string, action: string, picked: Record<string, string>, typed: Record<string, string>) {
    this.taps += 2 + 2 * Object.keys(picked).length + Object.keys(typed).length;
    for (const value of Object.values(typed)) this.type(value);
    for (const [option, value] of Object.entries(picked)) {
      const spec = await on.moss.type(name, action, option, '').catch(() => null);
      // What is completed is in the list that opens, before a letter is typed.
      if (spec) expect(spec.map((one) => one.value)).toContain(value);
    }
    this.path.push(`/${name} ${action}`);
    this.shows(await on.moss.use(name, action, { ...picked, ...typed }));
  }
  private type(value: string): void {
    if (/\d/.test(value)) this.numbers.push(value);
    else this.words += value.split(/\s+/).length;
  }
  private take(label: string): Promise<Seen> {
    const inMenu = on.moss.menus(this.message).some(({ entries }) => entries.includes(label));
    this.taps += inMenu ? 2 : 1;
    this.path.push(label);
    return inMenu ? on.moss.choose(this.message, label) : on.moss.press(this.message, label);
  }
  async tap(label: string): Promise<void> {
    this.shows(await this.take(label));
  }
  /** Opens a form of one field, types into it, and sends it. */
  async fill(label: string, field: string, value: string): Promise<void> {
    this.type(value);
    this.path.push(value);
    const { modal } = await this.take(label);
    // Its own button sends the form.
    this.taps += 1;
    if (!modal) throw new Error(`${label} opens no form`);
    this.shows(await on.moss.submit(modal, { [field]: value }));
  }
}

/** Traces by taps until something mends it; the first reading that is asked for is typed. */
async function trace(hand: Hand): Promise<void> {
  for (let step = 0; step < 20; step += 1) {
    const labels = hand.labels();
    if (labels.includes('Test its functions')) return;
    const mended = labels.includes('Done: it works') && hand.numbers.length > 1;
    if (
      labels.includes('Type what you read') &&
      hand.numbers.length === 1 &&
      hand.title().includes('Current at')
    )
      await hand.fill('Type what you read', 'Says', '0.02 A');
    else if (mended) await hand.tap('Done: it works');
    else
      await hand.tap(
        labels.find((one) => /^(Go on anyway|Done: no change|It is open|it does not$)/.test(one)) ??
          labels[0] ??
          '',
      );
  }
  throw new Error(`never mended: ${hand.path.join(' > ')}`);
}

it('is done with taps alone but for three numbers', async () => {
  const before = on.loopback.world.seenIn(on.channel.id).length;
  const hand = new Hand();
  const intake = { model: 'Orrin K3', came: 'bought', symptoms: 'does not charge' };
  await hand.command('job', 'open', intake, { price: '20' });
  for (const label of ['Ownership is shown', 'It is free', 'It is on none', 'Trace the fault'])
    await hand.tap(label);
  await trace(hand);
  await hand.tap('Test its functions');
  for (;;) {
    const all = hand.labels().find((label) => /^All \d+ pass$|^Passes$/.test(label));
    if (!all) break;
    await hand.tap(all);
  }
  await hand.tap('Erased: purged');
  await hand.fill('Sold: for how much?', 'Sold', '138');
  expect(titleOf(hand.message)).toContain('is this what the next owner should read?');
  await hand.tap('Yes, close it');
  expect(titleOf(hand.message)).toContain('restored');
  expect(hand.numbers).toHaveLength(3);
  const messages = on.loopback.world.seenIn(on.channel.id).length - before;
  if (process.env.TELL)
    process.stdout.write(`${hand.path.join(' > ')}\n${messages} messages, ${hand.taps} taps\n`);
  expect(hand.words).toBe(0);
  // What was measured, with room for a plan that asks a little more.
  expect(messages).toBeLessThanOrEqual(6);
  expect(hand.taps).toBeLessThanOrEqual(50);
});
