/** The invented collective "Tin Shed": its settings, models and prices, put in through the real commands. */
import type { Session } from './session.ts';

export const DEMO_ZONE = 'Australia/Sydney';
export const DEMO_COLLECTIVE = 'Tin Shed';

const models: readonly (readonly [name: string, family: string, monthsOld: number, newPrice: number])[] = [
  ['Orrin K3', 'glued-front-home-sensor', 74, 749],
  ['Vesper Loam', 'glued-back-under-display', 38, 1099],
  ['Tarn 8', 'budget-port-on-board', 30, 329],
  ['Halden Fold', 'fold-book', 26, 1899],
];

/** Months ago, price, condition, sold or asked. */
const sold: Readonly<Record<string, readonly (readonly [number, number, string, string])[]>> = {
  'Orrin K3': [
    [9, 168, 'good', 'sold'],
    [8, 150, 'fair', 'sold'],
    [7, 175, 'good', 'asked'],
    [5, 142, 'fair', 'sold'],
    [4, 128, 'worn', 'sold'],
    [3, 149, 'good', 'sold'],
    [1, 155, 'good', 'asked'],
    [1, 131, 'fair', 'sold'],
  ],
  'Vesper Loam': [
    [8, 430, 'good', 'sold'],
    [6, 415, 'good', 'asked'],
    [5, 372, 'fair', 'sold'],
    [3, 360, 'good', 'sold'],
    [2, 310, 'worn', 'sold'],
    [1, 365, 'good', 'asked'],
  ],
  'Tarn 8': [
    [7, 150, 'good', 'sold'],
    [5, 132, 'fair', 'sold'],
    [4, 145, 'good', 'asked'],
    [2, 118, 'fair', 'sold'],
    [1, 125, 'good', 'sold'],
  ],
  'Halden Fold': [
    [6, 780, 'good', 'sold'],
    [4, 690, 'fair', 'sold'],
    [2, 725, 'good', 'asked'],
  ],
};
const parts: readonly (readonly [string, string, string, number, number])[] = [
  ['Orrin K3', 'battery', 'original', 24, 4],
  ['Orrin K3', 'battery', 'copy', 14, 3],
  ['Orrin K3', 'display assembly', 'refurbished', 62, 2],
  ['Vesper Loam', 'display assembly', 'original', 210, 2],
];

const members = ['Ines', 'Bram', 'Wren'] as const;

/** The ISO date so many months before `now`. */
const monthsBefore = (now: Date, months: number): string =>
  new Date(Date.UTC(now.getUTCFullYear(), now.getUTCMonth() - months, 12)).toISOString().slice(0, 10);

/** Fills the collective of the session, which must be new; throws when one of its own commands is refused. */
export function fillDemo(session: Session, now: Date): void {
  const must = (line: string): void => {
    const reply = session.say(line);
    if (reply.outcome !== 'answered') throw new Error(`demo: ${line}: ${reply.title}`);
  };
  must(`/setup currency:AUD region:AU zone:${DEMO_ZONE} rate:30 margin:"10 %"`);
  for (const [name, family, months, price] of models) {
    must(
      `/family name model:"${name}" as:${family} launched:${monthsBefore(now, months).slice(0, 7)} new-price:${price}`,
    );
  }
  // Prices of one person count for less together, so everybody tells some.
  const { persona } = session;
  for (const [name, prices] of Object.entries(sold)) {
    for (const [i, [months, price, condition, how]] of prices.entries()) {
      session.persona = { name: members[i % members.length] ?? persona.name, role: 'member' };
      must(
        `/prices add what:"${name}" price:${price} condition:${condition} how:${how} seen:${monthsBefore(now, months)}`,
      );
    }
  }
  session.persona = persona;
  for (const [name, component, grade, price, months] of parts) {
    must(
      `/prices add what:"${name}" component:"${component}" grade:${grade} price:${price} seen:${monthsBefore(now, months)}`,
    );
  }
}
