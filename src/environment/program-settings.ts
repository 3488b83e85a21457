/** Command line and environment, checked. */
import { existsSync, readFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { isAbsolute, join } from 'node:path';
import { parseArgs } from 'node:util';
import { z } from 'zod';

export const helpText = `Thirdhand: is this dead phone worth restoring, what is wrong with it, what is paired, what can hurt me.

npm start                      open the bench in this terminal
npm start -- --tour            play a whole week of an invented collective
npm start -- --run "/worth …"  run one command and end; may be given several times
npm start -- --serve           be a bot on Discord and Matrix, as far as their tokens are set, until it is stopped
commands also come from standard input, one a line; a number answers the choices of the last reply

  --as NAME[:steward]          who speaks (default: you, as a steward)
  --in workshop|direct         where (default: workshop)
  --now 2026-03-02T09:00       what time it is, in the collective's time zone (default: now)
  --json                       one JSON object a line: the reply with its data
  --collective NAME            which collective (default: Home bench)
  --data DIR                   where things are kept (default: $XDG_DATA_HOME/thirdhand)
  --demo                       open the invented collective "Tin Shed", with models and prices in it
  --save DIR                   write files that replies carry into DIR
  --tick                       do what is due now, such as the weekly post, and end
  --backup FILE|DIR/           copy the store while it is in use, open the copy, say what is in it, and end;
                               in DIR each copy has its time in its name
  --keep N                     with --backup DIR/: only the newest N copies stay, and any that holds more
  --replace                    with --backup FILE: replace FILE though it holds more than the store
  --verify FILE                open a copy, read all of it, say what is in it, and end
  --restore FILE               put a copy in the place of the store, keep the old one beside it, and end
  --check                      verify the store, what is sealed in it, the knowledge pack and the platforms, and end
  --status                     ask the bot that serves on DIR how it is, and end: 0 if all is well, 1 if not
  --new-key                    make a new key, seal all notes and IMEIs under it, and end
  --help                       this

In the terminal: /as NAME[:steward] and /in workshop|direct switch person and room; /quit leaves.
Environment: THIRDHAND_DATA (as --data), THIRDHAND_KNOWLEDGE (a folder laid over the knowledge pack), NO_COLOR,
THIRDHAND_KEY (32 bytes in base64 that seal notes and IMEIs; without it they are in DIR/key: keep a copy of that file
away from the copies of the store), THIRDHAND_KEY_OLD (the key before, when THIRDHAND_KEY is a new one),
THIRDHAND_HEALTH_PORT (with --serve: /health and /metrics at that port of 127.0.0.1).
Exit: 0 answered, 2 refused, 1 fault.
`;

/** A wrong word on the command line; the message says what would be right. */
export class WrongSetting extends Error {}

/** What a file holds, as service managers hand out what is secret. Throws WrongSetting, which names the setting and the file. */
function secretIn(file: string, setting: string): string {
  try {
    return readFileSync(file, 'utf8').trim();
  } catch {
    throw new WrongSetting(`${setting}: ${file} cannot be read.`);
  }
}

/**
 * A secret: the setting `name` itself, else what the file holds that `fileName` names, else systemd's credential of that
 * name (systemd.exec(5), LoadCredential=). Undefined where there is none.
 */
export function secretOf(environment: NodeJS.ProcessEnv, name: string, fileName: string): string | undefined {
  if (environment[name]) return environment[name];
  const file = environment[fileName];
  if (file) return secretIn(file, fileName);
  const credential = environment.CREDENTIALS_DIRECTORY && join(environment.CREDENTIALS_DIRECTORY, name);
  return credential && existsSync(credential) ? secretIn(credential, name) : undefined;
}

export const personaSchema = z
  .string()
  .trim()
  .regex(
    /^[^\p{C}:]{1,40}(:(steward|member|visitor))?$/u,
    'a name of at most 40 characters, then :steward if they are one',
  )
  .transform((text) => {
    const [name = text, role] = text.split(':');
    return { name, role: z.enum(['steward', 'member', 'visitor']).parse(role ?? 'member') };
  });
export type Persona = z.output<typeof personaSchema>;
export const placeSchema = z.enum(['workshop', 'direct'], 'workshop or direct');

const folder = z.string().min(1, 'a folder');

const settingsSchema = z.object({
  data: folder,
  knowledge: folder.optional(),
  key: z.string().min(1, 'a key').optional(),
  keyOld: z.string().min(1, 'a key').optional(),
  collective: z.string().trim().min(1, 'a name').max(60, 'a name of at most 60 characters'),
  as: personaSchema.nullable(),
  in: placeSchema,
  now: z.iso.datetime({ local: true, message: 'a time like 2026-03-02T09:00' }).nullable(),
  run: z.array(z.string()),
  save: folder.nullable(),
  backup: z.string().min(1, 'a file').nullable(),
  keep: z.coerce.number('a number of copies').int('a whole number').min(1, 'at least 1').nullable(),
  replace: z.boolean(),
  verify: z.string().min(1, 'a file').nullable(),
  restore: z.string().min(1, 'a file').nullable(),
  json: z.boolean(),
  tour: z.boolean(),
  serve: z.boolean(),
  status: z.boolean(),
  healthPort: z.coerce
    .number('a port from 1 to 65535')
    .int('a port from 1 to 65535')
    .min(1, 'a port from 1 to 65535')
    .max(65_535, 'a port from 1 to 65535')
    .nullable(),
  demo: z.boolean(),
  check: z.boolean(),
  tick: z.boolean(),
  newKey: z.boolean(),
  help: z.boolean(),
  colour: z.boolean(),
});
export type Settings = z.output<typeof settingsSchema>;

/** Throws WrongSetting with one clear line. */
export function readSettings(
  argv: readonly string[],
  environment: NodeJS.ProcessEnv,
  colourful: boolean,
): Settings {
  const text = { type: 'string' } as const;
  const flag = { type: 'boolean', default: false } as const;
  const parse = () => {
    try {
      return parseArgs({
        args: [...argv],
        options: {
          data: text,
          collective: text,
          as: text,
          in: text,
          now: text,
          run: { type: 'string', multiple: true },
          save: text,
          backup: text,
          keep: text,
          replace: flag,
          verify: text,
          restore: text,
          json: flag,
          tour: flag,
          serve: flag,
          status: flag,
          demo: flag,
          check: flag,
          tick: flag,
          'new-key': flag,
          help: flag,
        },
      }).values;
    } catch (error) {
      throw new WrongSetting(
        `${error instanceof Error ? error.message.split('\n')[0] : error} --help lists the options.`,
      );
    }
  };
  const given = parse();
  // XDG Base Directory Specification: a relative path in it is to be ignored.
  const xdg = environment.XDG_DATA_HOME ?? '';
  const dataHome = isAbsolute(xdg) ? xdg : join(homedir(), '.local', 'share');
  const read = settingsSchema.safeParse({
    ...given,
    data: given.data ?? (environment.THIRDHAND_DATA || join(dataHome, 'thirdhand')),
    knowledge: environment.THIRDHAND_KNOWLEDGE || undefined,
    key: secretOf(environment, 'THIRDHAND_KEY', 'THIRDHAND_KEY_FILE'),
    keyOld: secretOf(environment, 'THIRDHAND_KEY_OLD', 'THIRDHAND_KEY_OLD_FILE'),
    newKey: given['new-key'],
    collective: given.collective ?? (given.demo ? 'Tin Shed' : 'Home bench'),
    as: given.as ?? null,
    in: given.in ?? 'workshop',
    now: given.now ?? null,
    run: given.run ?? [],
    save: given.save ?? null,
    healthPort: environment.THIRDHAND_HEALTH_PORT || null,
    backup: given.backup ?? null,
    keep: given.keep ?? null,
    verify: given.verify ?? null,
    restore: given.restore ?? null,
    // no-color.org: any value that is not empty counts.
    colour: colourful && !environment.NO_COLOR && environment.TERM !== 'dumb',
  });
  if (read.success) return read.data;
  const issue = read.error.issues[0];
  const name = issue?.path.join('.') ?? '';
  const said = name === 'healthPort' ? 'THIRDHAND_HEALTH_PORT' : `--${name}`;
  throw new WrongSetting(`${said}: expected ${issue?.message ?? 'something else'}`);
}
