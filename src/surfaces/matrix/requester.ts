/** Who speaks on Matrix: with which role, in which collective. */
import type { Role } from '../../../commands/framework/context.ts';
import type { Request } from '../../../commands/framework/dispatch.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Spot } from './content.ts';
import type { Heard } from './events.ts';
import { powerOf, type Rooms } from './rooms.ts';

export const PLATFORM = 'matrix';
/** What a person is known by in the store. */
export const keyOf = (person: string): string => `${PLATFORM}:${person}`;

/** What is being answered, and where. */
export interface Turn {
  room: string;
  heard: Heard;
  /** The room is of the sender and the bot alone, seen just now. */
  direct: boolean;
  spot: Spot;
}

/** A request, but for what it says. */
export type Asked = Omit<Request, 'say' | 'requestId'>;

export interface Askers {
  roleIn(room: string, person: string): Promise<Role>;
  /** The person's role in each collective that has a room where they are. */
  rolesOf(person: string, only?: number): Promise<Map<number, Role>>;
  askedIn(turn: Turn, collective: number, role: Role): Promise<Asked>;
}

export interface AskersParts {
  database: Database;
  rooms: Rooms;
  clock: () => Date;
  /** The power level that makes a steward. */
  stewardLevel: number;
}

export function askersOf({ database, rooms, clock, stewardLevel }: AskersParts): Askers {
  const roleIn = async (room: string, person: string): Promise<Role> =>
    powerOf(await rooms.state(room), person) >= stewardLevel ? 'steward' : 'member';

  const rolesOf = async (person: string, only?: number): Promise<Map<number, Role>> => {
    const roles = new Map<number, Role>();
    for (const { id } of database.collectives.list()) {
      if (only !== undefined && id !== only) continue;
      for (const place of database.places.list(id)) {
        if (place.platform !== PLATFORM || place.kind !== 'room') continue;
        if (!(await rooms.isIn(place.id, person))) continue;
        const role = await roleIn(place.id, person);
        if (roles.get(id) !== 'steward') roles.set(id, role);
      }
    }
    return roles;
  };

  const personOf = async ({ room, heard }: Turn, role: Role) => ({
    key: keyOf(heard.sender),
    name: await rooms.nameOf(room, heard.sender),
    role,
  });

  const askedIn = async (turn: Turn, collective: number, role: Role): Promise<Asked> => ({
    collective,
    person: await personOf(turn, role),
    direct: turn.direct,
    now: clock(),
    saidAt: new Date(clock().getTime() - Math.max(0, turn.heard.age)),
    ...(turn.direct ? {} : { place: { platform: PLATFORM, id: turn.room } }),
  });

  return { roleIn, rolesOf, askedIn };
}
