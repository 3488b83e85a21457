/** The front of a reply, or what stands behind it. */
export type Side = 'front' | 'back';

/**
 * What a button, a menu or a form carries, at most 100 characters. All of it works after a restart: what is longer is kept
 * in the store under the token or the request's id.
 */
export type Carried =
  /** A saved choice. `inPlace`: its answer takes the place of the message that it is on. */
  | { kind: 'choice'; command: string; inPlace: boolean; token: string }
  /** A page of a side of a reply that was given to a request. `command` is the one that it answered. */
  | { kind: 'page'; command: string; side: Side; page: number; request: string }
  /** What stands behind a reply that was given to a request, for who asks. */
  | { kind: 'more'; command: string; request: string }
  /** The collective that a person's direct messages go to. */
  | { kind: 'home'; collective: number }
  /** A form that asks for the options of an action. */
  | { kind: 'form'; command: string; action: string }
  /** A form for one option of a saved choice; `typed`: that form, filled in. */
  | { kind: 'fill' | 'typed'; option: string; token: string }
  /** The same form once more, with what was typed into it. */
  | { kind: 'again'; command: string; action: string; draft: string };

const MOST = 100;
const NAME = /^[a-z][a-z-]*$/;

export function customId(carried: Carried): string {
  const text = partsOf(carried).join('|');
  if (text.length > MOST) throw new Error(`a custom_id of ${text.length} characters: ${text}`);
  return text;
}

function partsOf(carried: Carried): (string | number)[] {
  switch (carried.kind) {
    case 'choice':
      return ['c', carried.command, carried.inPlace ? 1 : 0, carried.token];
    case 'page':
      return [carried.side === 'back' ? 'm' : 'p', carried.command, carried.page, carried.request];
    case 'more':
      return ['b', carried.command, carried.request];
    case 'home':
      return ['h', carried.collective];
    case 'form':
      return ['f', carried.command, carried.action];
    case 'fill':
      return ['o', carried.option, carried.token];
    case 'typed':
      return ['t', carried.option, carried.token];
    case 'again':
      return ['a', carried.command, carried.action, carried.draft];
  }
}

/** Null for one that this version does not know. */
export function readCustomId(text: string): Carried | null {
  const [kind, first = '', second = '', third = ''] = text.split('|');
  switch (kind) {
    case 'c':
      return NAME.test(first) && third
        ? { kind: 'choice', command: first, inPlace: second === '1', token: third }
        : null;
    case 'p':
    case 'm': {
      const side = kind === 'm' ? 'back' : 'front';
      return NAME.test(first) && /^\d{1,4}$/.test(second) && /^\d{1,20}$/.test(third)
        ? { kind: 'page', command: first, side, page: Number(second), request: third }
        : null;
    }
    case 'b':
      return NAME.test(first) && /^\d{1,20}$/.test(second)
        ? { kind: 'more', command: first, request: second }
        : null;
    case 'h':
      return /^\d{1,15}$/.test(first) ? { kind: 'home', collective: Number(first) } : null;
    case 'f':
      return NAME.test(first) ? { kind: 'form', command: first, action: second } : null;
    case 'o':
    case 't':
      return NAME.test(first) && second
        ? { kind: kind === 'o' ? 'fill' : 'typed', option: first, token: second }
        : null;
    case 'a':
      return NAME.test(first) ? { kind: 'again', command: first, action: second, draft: third } : null;
    default:
      return null;
  }
}
