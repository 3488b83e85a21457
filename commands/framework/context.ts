import type { Knowledge } from '../../knowledge/load.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import type { Message } from '../../shared/language/message.ts';
import type { Actor } from '../../shared/people/actor.ts';
import type { Store } from '../../shared/store/index.ts';

export type Role = 'visitor' | 'member' | 'steward';

export interface Person {
  /** Unique over all platforms, such as `terminal:Ines`. */
  key: string;
  name: string;
  role: Role;
}

/** Who asks, as records keep it. */
export const actorOf = ({ person: { key, name } }: Pick<Context, 'person'>): Actor => ({ key, name });

/** All that a command may use. It carries no platform object and no clock. */
export interface Context {
  collective: Collective;
  person: Person;
  /** True in a direct message, false in a shared room. */
  direct: boolean;
  /** Reads and writes this collective's records only. */
  store: Store;
  knowledge: Knowledge;
  now: Date;
  /** The asker's own locale (BCP 47), where the bot speaks its language; else the collective's. */
  locale: string;
  /** A message in the asker's language: for names that can be typed. What is replied is rendered after the command. */
  write: (message: Message) => string;
  /** The shared place it was said in; none in a direct message or at a terminal. */
  place?: {
    platform: string;
    id: string /** The part of it, where it has parts, as a server has channels. */;
    channel?: string;
  };
}
