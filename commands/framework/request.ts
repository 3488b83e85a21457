/** A request: what was said or chosen, by whom, where and when. */

import type { Instants } from '../../shared/language/render.ts';
import type { Context, Person } from './context.ts';
import type { Invocation } from './reply.ts';

/** Who asks, where and when. */
export interface RequestOrigin {
  /** Id or name. */
  collective: number | string;
  person: Person;
  direct: boolean;
  now: Date;
  /** When it was said, where that is earlier than now: what waited is not taken for a lot at once. */
  saidAt?: Date;
  /** That of the person's client (BCP 47); the collective's language when not given. */
  locale?: string;
  /** The shared place, as its platform names it. */
  place?: Context['place'];
  /** The surface has forms, and menus for long lists: of what can be picked all is offered, and what is typed is asked for. */
  forms?: boolean;
  /** The surface draws instants in each reader's own zone: how it marks them. */
  instants?: Instants;
  /** The collective is one of several that the person may choose among: that they spoke in it is not noted. */
  unsettled?: boolean;
}

export interface Request extends RequestOrigin {
  /** The platform's own id of the request: one that arrives twice is answered once. */
  requestId?: string;
  say:
    | { line: string }
    | { invoke: Invocation }
    /** `also`: further choices that are taken with it (`several.ts`). */
    | { token: string; also?: readonly string[] };
}
