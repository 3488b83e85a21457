/** Many people on many servers of the loopback Discord, and what they say all day. */
import type { Person, Value } from '../discord/loopback/person.ts';
import type { Loopback } from '../discord/loopback/server.ts';
import { rights } from '../discord/loopback/world.ts';

export const PEOPLE_EACH = 4;

export const everyday: readonly [command: string, action: string, options: Record<string, Value>][] = [
  ['worth', '', { model: 'Orrin K3', price: '60' }],
  ['paired', '', { of: 'Orrin K3', component: 'battery' }],
  ['prices', 'add', { what: 'Orrin K3', price: '150' }],
  ['prices', 'list', { what: 'Orrin K3' }],
  ['job', 'open', { model: 'Orrin K3' }],
  ['job', 'list', {}],
  ['caution', '', { name: 'heat' }],
  ['family', 'list', {}],
];

/** `PEOPLE_EACH` of each server, one after the other; the first of each may manage it. */
export function peopleOn(loopback: Loopback, servers: number): Person[] {
  const { world } = loopback;
  return Array.from({ length: servers }, (_, s) => {
    const server = world.addServer(`Shed ${s}`, world.addUser(`owner${s}`, `Owner ${s}`));
    const lead = world.addRole(server, 'Lead', rights.manageServer);
    const channel = world.addChannel(server, 'workshop');
    return Array.from({ length: PEOPLE_EACH }, (_, p) => {
      const user = world.addUser(`p${s}-${p}`, `P${s}-${p}`);
      world.join(server, user, p === 0 ? [lead] : []);
      return loopback.person(user, { channel: channel.id });
    });
  }).flat();
}
