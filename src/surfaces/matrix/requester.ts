/** Who speaks on Matrix: with which role, in which collective. */
import type { Person, Role } from '../../../commands/framework/context.ts';
import type { RequestOrigin } from '../../../commands/framework/request.ts';
import type { Collective } from '../../../shared/collective/collective-settings.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Spot } from './content.ts';
import type { Heard } from './events.ts';
import { powerOf, type Rooms } from './rooms.ts';
import { isAllowed } from './settings.ts';

export const MATRIX = 'matrix';
const MOST_KEPT = 2000;
/** What a person is known by in the store. */
export const matrixKeyOf = (person: string): string => `${MATRIX}:${person}`;

/** What is being answered, and where. */
export interface Turn {
  room: string;
  heard: Heard;
  /** The room is of the sender and the bot alone, seen just now. */
  direct: boolean;
  spot: Spot;
}

export interface MatrixRequesters {
  /** Whether the bot answers a person at all. */
  isMember(person: string): boolean;
  roleIn(room: string, person: string): Promise<Role>;
  /** The person's role in each collective that has a room where they are. */
  rolesOf(person: string, only?: number): Promise<Map<number, Role>>;
  /** The collectives in which somebody was when `rolesOf` asked last. */
  homesOf(person: Pick<Person, 'key'>): readonly Collective[];
  askedIn(turn: Turn, collective: number, role: Role): Promise<RequestOrigin>;
}

export interface MatrixRequestersParts {
  database: Database;
  rooms: Rooms;
  clock: () => Date;
  /** The power level that makes a steward. */
  stewardLevel: number;
  own: string;
  /** `MATRIX_ALLOW`: whoever is let into a bound room is a member of its collective, if they are among these. */
  allow: readonly string[] | null;
}

export function matrixRequestersOf({
  database,
  rooms,
  clock,
  stewardLevel,
  own,
  allow,
}: MatrixRequestersParts): MatrixRequesters {
  const roleIn = async (room: string, person: string): Promise<Role> =>
    powerOf(await rooms.state(room), person) >= stewardLevel ? 'steward' : 'member';

  const homes = new Map<string, readonly number[]>();

  const rolesOf = async (person: string, only?: number): Promise<Map<number, Role>> => {
    const roles = new Map<number, Role>();
    if (!isAllowed(person, own, allow)) return roles;
    for (const { id } of database.collectives.list()) {
      if (only !== undefined && id !== only) continue;
      for (const place of database.channelBindings.list(id)) {
        if (place.platform !== MATRIX || place.kind !== 'room') continue;
        if (!(await rooms.isIn(place.id, person))) continue;
        const role = await roleIn(place.id, person);
        if (roles.get(id) !== 'steward') roles.set(id, role);
      }
    }
    if (only === undefined) {
      if (homes.size >= MOST_KEPT) homes.clear();
      homes.set(matrixKeyOf(person), [...roles.keys()]);
    }
    return roles;
  };

  const homesOf = ({ key }: Pick<Person, 'key'>): readonly Collective[] =>
    (homes.get(key) ?? []).flatMap((id) => database.collectives.find(id) ?? []);

  const personOf = async ({ room, heard }: Turn, role: Role) => ({
    key: matrixKeyOf(heard.sender),
    name: await rooms.nameOf(room, heard.sender),
    role,
  });

  const askedIn = async (turn: Turn, collective: number, role: Role): Promise<RequestOrigin> => ({
    collective,
    person: await personOf(turn, role),
    direct: turn.direct,
    now: clock(),
    saidAt: new Date(clock().getTime() - Math.max(0, turn.heard.age)),
    ...(turn.direct ? {} : { place: { platform: MATRIX, id: turn.room } }),
  });

  return { isMember: (person) => isAllowed(person, own, allow), roleIn, rolesOf, homesOf, askedIn };
}
