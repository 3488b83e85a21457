/** Which collective a request belongs to, and what its person may do there. */
import { z } from 'zod';
import type { Person, Role } from '../../../commands/framework/context.ts';
import type { Collective } from '../../../shared/collective/collective-settings.ts';
import type { Database } from '../../../shared/store/index.ts';
import { discordCodeOf, errorCode, rights } from './api.ts';
import type { Origin } from './incoming.ts';

export const DISCORD = 'discord';

/** What is known of a server without asking Discord. */
interface ServerView {
  name: string;
  owner: string;
  /** What each role may do, by its id; the server's own id stands for everyone. */
  roles: ReadonlyMap<string, bigint>;
}

const rolesSchema = z.object({ steward: z.string().nullable(), member: z.string().nullable() });
type ServerRoles = z.infer<typeof rolesSchema>;
const NO_ROLES: ServerRoles = { steward: null, member: null };

const memberSchema = z.object({ roles: z.array(z.string()) });

interface ServerMembership {
  roles: readonly string[];
  permissions: bigint;
}

/** A place and a person, as the dispatcher wants them. */
export interface Requester {
  collective: Collective;
  person: Person;
  direct: boolean;
  place?: { platform: string; id: string };
}
/** Why there is no asker: they are in no collective, or in several and have chosen none, or Discord could not be asked. */
export type Unplaced =
  | { kind: 'nowhere' }
  | { kind: 'choose'; among: Collective[] }
  | { kind: 'unknown' }
  /** Used in a server that has not installed the bot. */
  | { kind: 'not installed' };

export interface RequestersParts {
  database: Database;
  clock: () => Date;
  servers: { view(id: string): ServerView | null; ids(): string[] };
  /** Asks Discord for a member of a server; throws what it answers. */
  fetchMember: (server: string, user: string) => Promise<unknown>;
}

const rank: Readonly<Record<Role, number>> = { visitor: 0, member: 1, steward: 2 };
/** So long an answer of Discord about a member is good: whoever leaves or loses a role is noticed after that. */
const GOOD_MS = 60_000;
const MOST_KEPT = 2000;
/** So many servers are asked about somebody whom the store has not met. */
const MOST_ASKED = 25;
const NAME_MOST = 60;

export interface Requesters {
  /** Of a request in a server; binds the server to a collective on its first use. */
  inServer(origin: Origin): Requester | Unplaced;
  /** Of a direct message. Asks Discord whether the person is still a member. */
  inDirect(origin: Origin): Promise<Requester | Unplaced>;
  /** The collectives that a person is in now, with their role. */
  collectivesOf(user: string): Promise<{ collective: Collective; role: Role }[]>;
  /** What `collectivesOf` came to last for somebody. */
  homesOf(person: Pick<Person, 'key'>): readonly Collective[];
  rolesOf(server: string): ServerRoles;
  setRoles(server: string, roles: ServerRoles): void;
}

export const discordKeyOf = (user: string): string => `${DISCORD}:${user}`;
const rolesKey = (server: string): string => `roles:${server}`;

export function requestersOf({ database, clock, servers, fetchMember }: RequestersParts): Requesters {
  const { channelBindings, surfaceState } = database;
  const homes = new Map<string, readonly Collective[]>();
  const known = new Map<string, { at: number; membership: ServerMembership | null }>();

  const rolesOf = (server: string): ServerRoles => {
    const saved = surfaceState.get(DISCORD, rolesKey(server));
    return saved === null ? NO_ROLES : rolesSchema.parse(JSON.parse(saved));
  };

  const roleIn = (server: string, { roles, permissions }: ServerMembership): Role => {
    const set = rolesOf(server);
    if (permissions & (rights.manageServer | rights.administrator)) return 'steward';
    if (set.steward !== null && roles.includes(set.steward)) return 'steward';
    return set.member === null || roles.includes(set.member) ? 'member' : 'visitor';
  };

  /** The name of the server, or with a number behind it where that is taken. */
  const freeName = (server: string): string => {
    const given = (servers.view(server)?.name ?? '').replace(/\p{C}/gu, '').trim().slice(0, NAME_MOST);
    const base = given || `Server ${server.slice(-4)}`;
    for (let number = 1; ; number += 1) {
      const name = number === 1 ? base : `${base} (${number})`;
      if (!database.collectives.find(name)) return name;
    }
  };

  const collectiveOfServer = (server: string): Collective => {
    const place = channelBindings.bindingOf(DISCORD, server);
    const bound = place && database.collectives.find(place.collective);
    if (bound) return bound;
    return database.transaction(() => {
      const made = database.collectives.create(freeName(server));
      channelBindings.bind({ platform: DISCORD, id: server, collective: made.id, kind: 'server' }, clock());
      return made;
    });
  };

  const membershipIn = async (server: string, user: string): Promise<ServerMembership | null> => {
    const key = `${server} ${user}`;
    const now = clock().getTime();
    const before = known.get(key);
    if (before && now - before.at < GOOD_MS) return before.membership;
    const view = servers.view(server);
    let membership: ServerMembership | null = null;
    try {
      const { roles } = memberSchema.parse(await fetchMember(server, user));
      const granted = [server, ...roles].reduce((sum, role) => sum | (view?.roles.get(role) ?? 0n), 0n);
      membership = { roles, permissions: view?.owner === user ? granted | rights.administrator : granted };
    } catch (error) {
      const code = discordCodeOf(error);
      const gone =
        code === errorCode.unknownMember ||
        code === errorCode.unknownServer ||
        code === errorCode.missingAccess;
      if (!gone) throw error;
    }
    if (known.size >= MOST_KEPT) known.clear();
    known.set(key, { at: now, membership });
    return membership;
  };

  const roleInCollective = async (collective: number, user: string): Promise<Role | null> => {
    let best: Role | null = null;
    for (const { platform, kind, id } of channelBindings.list(collective)) {
      if (platform !== DISCORD || kind !== 'server') continue;
      const membership = await membershipIn(id, user);
      if (!membership) continue;
      const role = roleIn(id, membership);
      if (best === null || rank[role] > rank[best]) best = role;
    }
    return best;
  };

  /** Collectives in which they have spoken; for somebody new, those of the servers that they share with the bot. */
  const candidates = (user: string): number[] => {
    const home = channelBindings.homeOf(discordKeyOf(user));
    const spoken = channelBindings.seenIn(discordKeyOf(user));
    const met = home === null ? spoken : [...new Set([home, ...spoken])];
    if (met.length) return met;
    const shared = servers
      .ids()
      .slice(0, MOST_ASKED)
      .flatMap((id) => channelBindings.bindingOf(DISCORD, id)?.collective ?? []);
    return [...new Set(shared)];
  };

  const collectivesOf = async (user: string): Promise<{ collective: Collective; role: Role }[]> => {
    const found: { collective: Collective; role: Role }[] = [];
    for (const id of candidates(user)) {
      const collective = database.collectives.find(id);
      const role = collective && (await roleInCollective(id, user));
      if (collective && role) found.push({ collective, role });
    }
    if (homes.size >= MOST_KEPT) homes.clear();
    homes.set(
      discordKeyOf(user),
      found.map(({ collective }) => collective),
    );
    return found;
  };

  return {
    rolesOf,
    setRoles: (server, roles) =>
      surfaceState.set(DISCORD, rolesKey(server), JSON.stringify(rolesSchema.parse(roles)), clock()),
    collectivesOf,
    homesOf: ({ key }) => homes.get(key) ?? [],
    inServer: ({ server, user, name, installed }) => {
      if (!server || !installed) return { kind: 'not installed' };
      return {
        collective: collectiveOfServer(server.id),
        person: { key: discordKeyOf(user), name, role: roleIn(server.id, server) },
        direct: false,
        place: { platform: DISCORD, id: server.id },
      };
    },
    inDirect: async ({ user, name }) => {
      const home = channelBindings.homeOf(discordKeyOf(user));
      const asker = (collective: Collective, role: Role): Requester => ({
        collective,
        person: { key: discordKeyOf(user), name, role },
        direct: true,
      });
      try {
        if (home !== null) {
          const collective = database.collectives.find(home);
          const role = collective && (await roleInCollective(home, user));
          if (collective && role) return asker(collective, role);
        }
        const found = await collectivesOf(user);
        const [only] = found;
        if (!only) return { kind: 'nowhere' };
        if (found.length > 1) return { kind: 'choose', among: found.map(({ collective }) => collective) };
        return asker(only.collective, only.role);
      } catch {
        // Discord does not say whether they are still a member: nothing is shown on a guess.
        return { kind: 'unknown' };
      }
    },
  };
}
