/** Who did something, as records keep it. */
import { z } from 'zod';

/**
 * A person is the key; the name is what is shown, and others may go by it too. The key is null in records from before keys
 * were kept, where it could not be told whose the name was.
 */
export const actorSchema = z.object({ key: z.string().nullable(), name: z.string() });
export type Actor = z.infer<typeof actorSchema>;
