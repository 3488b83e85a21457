/** The bot's name and picture: those that its account has; where it has none, its own. */
import { z } from 'zod';
import type { MatrixConnection } from './client.ts';
import { networkErrorOf } from './network-error.ts';
import { ownPicture } from './picture.ts';

const profileSchema = z.object({
  displayname: z.string().trim().min(1).optional().catch(undefined),
  avatar_url: z.string().min(1).optional().catch(undefined),
});
const NAME = 'Thirdhand';

/** Whether the homeserver took it; what it refuses, such as a name that it sets itself, is left as it is. */
async function tried(work: () => Promise<unknown>): Promise<boolean> {
  try {
    await work();
    return true;
  } catch (error) {
    if (networkErrorOf(error).kind === 'refused') return false;
    throw error;
  }
}

/** The account's name, after it has been given one where it had none; null where it can have none. */
export async function introduce(connection: MatrixConnection, own: string): Promise<string | null> {
  const path = `/_matrix/client/v3/profile/${encodeURIComponent(own)}`;
  const put = (field: string, value: string) =>
    connection.doRequest('PUT', `${path}/${field}`, null, { [field]: value });
  let answer: unknown = {};
  await tried(async () => {
    answer = await connection.doRequest('GET', path);
  });
  const { displayname, avatar_url } = profileSchema.parse(answer);
  if (avatar_url === undefined)
    await tried(async () =>
      put('avatar_url', await connection.uploadContent(ownPicture(), 'image/png', 'thirdhand.png')),
    );
  // A new account is called by the first part of its id.
  const isNamed = displayname !== undefined && displayname !== own.slice(1).split(':')[0];
  if (isNamed) return displayname;
  return (await tried(() => put('displayname', NAME))) ? NAME : (displayname ?? null);
}
