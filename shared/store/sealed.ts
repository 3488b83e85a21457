import { CannotOpen, type Sealer } from '../sealing/sealer.ts';

/** The sealed text; null when it cannot be opened, as after the loss of its key. */
export function unseal(sealer: Sealer, place: string, sealed: string): string | null {
  try {
    return sealer.open(place, sealed);
  } catch (error) {
    if (error instanceof CannotOpen) return null;
    throw error;
  }
}
