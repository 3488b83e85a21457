/** What the Matrix surface needs to know, from the environment. */

import { z } from 'zod';
import { secretOf, WrongSetting } from '../../environment/program-settings.ts';
import { readRecoveryKey } from './encryption/recovery-key.ts';

/** `example.org`, `matrix.example.org:8448`, `[2001:db8::1]`. */
const SERVER = /^(?:[a-z0-9.-]+|\[[0-9a-f:.]+\])(?::\d{1,5})?$/i;
const PERSON = /^@[^:\s]+:\S+$/;

const allowSchema = z
  .string()
  .transform((text) => text.split(/[\s,]+/).filter(Boolean))
  .pipe(
    z.array(
      z
        .string()
        .refine(
          (one) => one === '*' || PERSON.test(one) || SERVER.test(one),
          'servers like example.org and people like @ines:example.org, separated by commas; * for everyone',
        ),
    ),
  );

const schema = z.object({
  MATRIX_HOMESERVER: z
    .url({
      protocol: /^https?$/,
      error: 'the address of your homeserver, such as https://matrix.example.org',
    })
    .transform((url) => url.replace(/\/+$/, '')),
  MATRIX_TOKEN: z
    .string({ error: "the access token of the bot's account" })
    .trim()
    .min(1, "the access token of the bot's account"),
  MATRIX_RECOVERY_KEY: z
    .string()
    .optional()
    .transform((text, { addIssue }) => {
      const key = text === undefined ? null : readRecoveryKey(text);
      if (text !== undefined && !key)
        addIssue("the recovery key of the bot's account, as its client shows it: groups of four letters");
      return key;
    }),
  MATRIX_ADMIN_ROOM: z
    .string()
    .regex(/^!\S+$/, 'the id of a room, such as !abc:example.org')
    .optional(),
  MATRIX_ALLOW: allowSchema.optional(),
  MATRIX_PREFIX: z
    .string()
    .regex(/^[^\s/]{1,20}$/, 'a short word without spaces, such as !th')
    .default('!th'),
  MATRIX_STEWARD_LEVEL: z.coerce
    .number({ error: 'a power level, such as 50' })
    .int('a power level, such as 50')
    .default(50),
});

export interface MatrixSettings {
  /** Address of the client-server API, without a slash at the end. */
  homeserver: string;
  token: string;
  /** The room in which whoever runs the bot is told what went wrong; null: none. */
  adminRoom: string | null;
  /** The 32 bytes of the account's recovery key; null when none was given. */
  recoveryKey: Buffer | null;
  /** Servers and people whose invites are taken; null: those of the bot's own server. */
  allow: readonly string[] | null;
  prefix: string;
  /** The power level from which somebody is a steward. */
  stewardLevel: number;
}

/** Null when neither homeserver nor token is set. Throws WrongSetting with one clear line, never with the token in it. */
export function readMatrixSettings(environment: NodeJS.ProcessEnv): MatrixSettings | null {
  const given = Object.fromEntries(Object.entries(environment).filter(([, value]) => value));
  const set = {
    ...given,
    MATRIX_TOKEN: secretOf(environment, 'MATRIX_TOKEN', 'MATRIX_TOKEN_FILE'),
    MATRIX_RECOVERY_KEY: secretOf(environment, 'MATRIX_RECOVERY_KEY', 'MATRIX_RECOVERY_KEY_FILE'),
  };
  if (!given.MATRIX_HOMESERVER && !set.MATRIX_TOKEN) return null;
  const read = schema.safeParse(set);
  if (!read.success) {
    const issue = read.error.issues[0];
    throw new WrongSetting(
      `${String(issue?.path[0] ?? 'MATRIX')}: expected ${issue?.message ?? 'something else'}.`,
    );
  }
  return {
    homeserver: read.data.MATRIX_HOMESERVER,
    token: read.data.MATRIX_TOKEN,
    recoveryKey: read.data.MATRIX_RECOVERY_KEY,
    adminRoom: read.data.MATRIX_ADMIN_ROOM ?? null,
    allow: read.data.MATRIX_ALLOW ?? null,
    prefix: read.data.MATRIX_PREFIX,
    stewardLevel: read.data.MATRIX_STEWARD_LEVEL,
  };
}

/** The server's name in an id such as `@ines:example.org` or `!room:example.org`; empty where there is none. */
export const serverOf = (id: string): string => {
  const colon = id.indexOf(':');
  return colon < 0 ? '' : id.slice(colon + 1).toLowerCase();
};

/** Whether an invite of this person is taken by the bot of the id `own`. */
export function isAllowed(person: string, own: string, allow: readonly string[] | null): boolean {
  if (allow === null) return serverOf(person) === serverOf(own);
  return allow.some(
    (one) =>
      one === '*' || one === person || (!one.startsWith('@') && one.toLowerCase() === serverOf(person)),
  );
}
