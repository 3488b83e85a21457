import type { Actor } from '../shared/people/actor.ts';

/** Somebody as records know them; the key is that of a person at the terminal where none is given. */
export const actor = (name: string, key = `terminal:${name}`): Actor => ({ key, name });
