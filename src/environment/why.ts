import { z } from 'zod';

/** Why something did not work, in a line. An answer that cannot be read is told of by its place, not in the words of a schema. */
export function whyOf(error: unknown): string {
  if (error instanceof z.ZodError) {
    const place = error.issues[0]?.path.map(String).join('.');
    return place ? `its answer is not as it should be, at ${place}` : 'its answer is not as it should be';
  }
  return error instanceof Error ? error.message : String(error);
}
