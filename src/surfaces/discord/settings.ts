/** What the Discord surface needs from the environment. */
import { z } from 'zod';
import { secretOf, WrongSetting } from '../../environment/program-settings.ts';

const SNOWFLAKE = /^\d{17,20}$/;

const environmentSchema = z.object({
  DISCORD_TOKEN: z
    .string()
    .trim()
    .regex(
      /^[\w-]+\.[\w-]+\.[\w-]+$/,
      'three parts with dots between, as the developer portal shows it under Bot',
    )
    .optional(),
  DISCORD_APPLICATION_ID: z
    .string()
    .trim()
    .regex(SNOWFLAKE, '17 to 20 digits, as the developer portal shows it under General Information')
    .optional(),
  DISCORD_API: z
    .url({ protocol: /^https?$/, error: 'an address such as http://127.0.0.1:8080/api' })
    .optional(),
});

export interface DiscordSettings {
  token: string;
  /** The application's id. A token begins with it, so it need not be given. */
  application: string;
  /** Where Discord's REST interface is, when it is not Discord's own: a proxy, or the server of the tests. */
  api?: string;
}

/** The application that a token belongs to: its first part is the id in base64. Null when it does not read so. */
export function applicationOf(token: string): string | null {
  const id = Buffer.from(token.split('.')[0] ?? '', 'base64url').toString('latin1');
  return SNOWFLAKE.test(id) ? id : null;
}

/**
 * Null when no token is set: then this surface is off. Throws WrongSetting, which never repeats the token, when what is set
 * cannot be right.
 */
export function readDiscordSettings(environment: NodeJS.ProcessEnv): DiscordSettings | null {
  const read = environmentSchema.safeParse({
    DISCORD_TOKEN: secretOf(environment, 'DISCORD_TOKEN', 'DISCORD_TOKEN_FILE'),
    DISCORD_APPLICATION_ID: environment.DISCORD_APPLICATION_ID || undefined,
    DISCORD_API: environment.DISCORD_API || undefined,
  });
  if (!read.success) {
    const [issue] = read.error.issues;
    throw new WrongSetting(`${issue?.path.join('.') ?? 'DISCORD_TOKEN'}: expected ${issue?.message ?? ''}.`);
  }
  const { DISCORD_TOKEN: token, DISCORD_APPLICATION_ID: given, DISCORD_API: api } = read.data;
  if (token === undefined) return null;
  const own = applicationOf(token);
  const application = given ?? own;
  if (application === null) {
    throw new WrongSetting(
      'DISCORD_APPLICATION_ID is missing: it stands in the developer portal under General Information.',
    );
  }
  if (own !== null && own !== application) {
    throw new WrongSetting(
      `DISCORD_TOKEN belongs to application ${own}, but DISCORD_APPLICATION_ID is ${application}. Take both from the same application.`,
    );
  }
  return { token, application, ...(api === undefined ? {} : { api }) };
}
