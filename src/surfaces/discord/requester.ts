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
/** So long an answer of Discord about a member is good: for what is typed letter by letter. Who leaves reads no further. */
const GOOD_MS = 3000;
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

export const requestersOf = (parts: RequestersParts): Requesters => new DiscordRequesters(parts);

/** The name of the server, or with a number behind it where that is taken. */
function freeName({ database, servers }: RequestersParts, server: string): string {
  const given = (servers.view(server)?.name ?? '').replace(/\p{C}/gu, '').trim().slice(0, NAME_MOST);
  const base = given || `Server ${server.slice(-4)}`;
  for (let number = 1; ; number += 1) {
    const name = number === 1 ? base : `${base} (${number})`;
    if (!database.collectives.find(name)) return name;
  }
}

/** The collective of a server, made on its first use. */
function collectiveOfServer(parts: RequestersParts, server: string): Collective {
  const { database, clock } = parts;
  const place = database.channelBindings.bindingOf(DISCORD, server);
  const bound = place && database.collectives.find(place.collective);
  if (bound) return bound;
  return database.transaction(() => {
    const made = database.collectives.create(freeName(parts, server));
    const binding = { platform: DISCORD, id: server, collective: made.id, kind: 'server' } as const;
    database.channelBindings.bind(binding, clock());
    return made;
  });
}

/** Collectives in which they have spoken; for somebody new, those of the servers that they share with the bot. */
function candidates({ database: { channelBindings }, servers }: RequestersParts, user: string): number[] {
  const home = channelBindings.homeOf(discordKeyOf(user));
  const spoken = channelBindings.seenIn(discordKeyOf(user));
  const met = home === null ? spoken : [...new Set([home, ...spoken])];
  if (met.length) return met;
  const shared = servers
    .ids()
    .slice(0, MOST_ASKED)
    .flatMap((id) => channelBindings.bindingOf(DISCORD, id)?.collective ?? []);
  return [...new Set(shared)];
}

/** Codes by which Discord says that somebody is not in a server, or that the bot is not. */
const GONE: readonly number[] = [errorCode.unknownMember, errorCode.unknownServer, errorCode.missingAccess];

class DiscordRequesters implements Requesters {
  private readonly parts: RequestersParts;
  private readonly homes = new Map<string, readonly Collective[]>();
  private readonly known = new Map<string, { at: number; membership: ServerMembership | null }>();

  constructor(parts: RequestersParts) {
    this.parts = parts;
  }

  readonly rolesOf = (server: string): ServerRoles => {
    const saved = this.parts.database.surfaceState.get(DISCORD, rolesKey(server));
    return saved === null ? NO_ROLES : rolesSchema.parse(JSON.parse(saved));
  };

  readonly setRoles = (server: string, roles: ServerRoles): void => {
    const text = JSON.stringify(rolesSchema.parse(roles));
    this.parts.database.surfaceState.set(DISCORD, rolesKey(server), text, this.parts.clock());
  };

  readonly homesOf = ({ key }: Pick<Person, 'key'>): readonly Collective[] => this.homes.get(key) ?? [];

  inServer({ server, user, name, installed }: Origin): Requester | Unplaced {
    if (!server || !installed) return { kind: 'not installed' };
    return {
      collective: collectiveOfServer(this.parts, server.id),
      person: { key: discordKeyOf(user), name, role: this.roleIn(server.id, server) },
      direct: false,
      place: { platform: DISCORD, id: server.id },
    };
  }

  async inDirect({ user, name }: Origin): Promise<Requester | Unplaced> {
    const { database } = this.parts;
    const home = database.channelBindings.homeOf(discordKeyOf(user));
    const asker = (collective: Collective, role: Role): Requester => ({
      collective,
      person: { key: discordKeyOf(user), name, role },
      direct: true,
    });
    try {
      if (home !== null) {
        const collective = database.collectives.find(home);
        const role = collective && (await this.roleInCollective(home, user));
        if (collective && role) return asker(collective, role);
      }
      const found = await this.collectivesOf(user);
      const [only] = found;
      if (!only) return { kind: 'nowhere' };
      if (found.length > 1) return { kind: 'choose', among: found.map(({ collective }) => collective) };
      return asker(only.collective, only.role);
    } catch {
      // Discord does not say whether they are still a member: nothing is shown on a guess.
      return { kind: 'unknown' };
    }
  }

  async collectivesOf(user: string): Promise<{ collective: Collective; role: Role }[]> {
    const found: { collective: Collective; role: Role }[] = [];
    for (const id of candidates(this.parts, user)) {
      const collective = this.parts.database.collectives.find(id);
      const role = collective && (await this.roleInCollective(id, user));
      if (collective && role) found.push({ collective, role });
    }
    if (this.homes.size >= MOST_KEPT) this.homes.clear();
    this.homes.set(
      discordKeyOf(user),
      found.map(({ collective }) => collective),
    );
    return found;
  }

  private roleIn(server: string, { roles, permissions }: ServerMembership): Role {
    const set = this.rolesOf(server);
    if (permissions & (rights.manageServer | rights.administrator)) return 'steward';
    if (set.steward !== null && roles.includes(set.steward)) return 'steward';
    return set.member === null || roles.includes(set.member) ? 'member' : 'visitor';
  }

  /** Their highest role in the servers of a collective; null where they are in none. */
  private async roleInCollective(collective: number, user: string): Promise<Role | null> {
    let best: Role | null = null;
    for (const { platform, kind, id } of this.parts.database.channelBindings.list(collective)) {
      if (platform !== DISCORD || kind !== 'server') continue;
      const membership = await this.membershipIn(id, user);
      if (!membership) continue;
      const role = this.roleIn(id, membership);
      if (best === null || rank[role] > rank[best]) best = role;
    }
    return best;
  }

  private async membershipIn(server: string, user: string): Promise<ServerMembership | null> {
    const key = `${server} ${user}`;
    const now = this.parts.clock().getTime();
    const before = this.known.get(key);
    if (before && now - before.at < GOOD_MS) return before.membership;
    const membership = await this.askMembership(server, user);
    if (this.known.size >= MOST_KEPT) this.known.clear();
    this.known.set(key, { at: now, membership });
    return membership;
  }

  /** Null where Discord says that they are not in it; throws what else it says. */
  private async askMembership(server: string, user: string): Promise<ServerMembership | null> {
    const view = this.parts.servers.view(server);
    try {
      const { roles } = memberSchema.parse(await this.parts.fetchMember(server, user));
      const granted = [server, ...roles].reduce((sum, role) => sum | (view?.roles.get(role) ?? 0n), 0n);
      return { roles, permissions: view?.owner === user ? granted | rights.administrator : granted };
    } catch (error) {
      if (GONE.includes(discordCodeOf(error) ?? 0)) return null;
      throw error;
    }
  }
}
