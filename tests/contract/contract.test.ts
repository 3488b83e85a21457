import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { commandPath, defineSimpleCommand } from '../../commands/framework/command.ts';
import { Refusal, type RefusalCode, refusalCodes } from '../../commands/framework/refusal.ts';
import { type Reply, reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { recordsPreviewData } from '../../commands/records/preview.ts';
import { typed } from '../../shared/language/say.ts';
import { RECORD_COLUMNS } from '../../shared/records/open-record.ts';
import { photoText } from '../../src/draw/photo-text.ts';
import { busyBench, here } from '../language/every-reply.ts';
import { greyJpeg } from '../photos/grey-jpeg.ts';
import { refusalOf, testBot } from '../test-bot.ts';
import { allCommands, type DataSchema, dataName, dataSchema, made, saved } from './reference.ts';

const schemas: DataSchema = JSON.parse(saved(made[1].file));
/** The schema of the file, as a program that reads it would use it. */
const schemaOf = (name: string): z.ZodType => z.fromJSONSchema({ ...schemas, $ref: `#/$defs/${name}` });

const actions = commands.flatMap((command) =>
  Object.entries(command.actions).map(([name, action]) => ({
    name: dataName(command, name),
    path: commandPath(command, name),
    action,
  })),
);

/** The mark of what the preview of open records shows on the busy bench. */
const seenRecords = (): string =>
  recordsPreviewData.parse(busyBench('en').say('/records preview 2026').data).digest;

/** What makes an example possible on the busy bench, and what is said in its place where it speaks of what is not there. */
const scenes: Readonly<Record<string, { first?: string[]; says?: string; as?: string }>> = {
  'trace-answer': { says: '/trace answer nothing' },
  'trace-back': { first: ['/trace answer nothing'] },
  'job-finish': { says: '/job finish passed job:6' },
  'job-take': { as: 'Wren' },
  'job-wipe': { first: ['/job log "left by the river" as:words job:6'], says: '/job wipe 5 job:6' },
  'trace-wipe': {
    first: ['/trace dead model:"Orrin K3" words:"left by the river"'],
    says: '/trace wipe',
  },
  'shelf-wipe': {
    first: ['/shelf add battery of:"Orrin K3" grade:copy from:"the Saturday market"'],
    says: '/shelf wipe 8',
  },
  'swap-wipe': {
    first: ['/swap battery effect:notice of:"Orrin K3" grade:used saw:"health hidden"'],
    says: '/swap wipe 2',
  },
  'danger-wipe': { first: ['/danger isolated who:"the battery service" job:1'], says: '/danger wipe job:1' },
  'job-hand': { as: 'Wren', first: ['/job take job:6'], says: '/job hand Ines job:6' },
  'job-reopen': { says: '/job reopen "came back with the same fault" job:5' },
  'shelf-arrived': {
    first: ['/shelf add battery of:"Orrin K3" grade:copy due:2026-03-09'],
    says: '/shelf arrived 8',
  },
  'shelf-back': { first: ['/shelf take 7 job:6'] },
  'swap-aside': { says: '/swap aside 1 why:"the part was faulty"' },
  'danger-isolated': { says: '/danger isolated job:1' },
  'danger-handed-over': { first: ['/danger isolated job:1'], says: '/danger handed-over job:1' },
  'danger-new-cell': { says: '/danger new-cell job:1' },
  'danger-cleaned': { says: '/danger cleaned job:4' },
  'danger-withdraw': { says: '/danger withdraw swollen why:"it was a mark on the case" job:1' },
  'prices-import': {
    says: '/prices import "date,kind,what,component,grade,storage,price,currency,how,note"',
  },
  'job-returned': { says: '/job returned 5' },
  'job-photo': { says: `/job photo ${photoText(greyJpeg([[200]]))} job:6` },
  'records-import': { says: `/records import "${RECORD_COLUMNS.join(',')}"` },
  'records-export': { says: `/records export 2026 seen:${seenRecords()}` },
  'note-edit': { first: ['/note add "two screws short"'], says: '/note edit 1 text:"found them"' },
  'note-erase': { first: ['/note add "two screws short"'], says: '/note erase 1' },
  'family-restore': { first: ['/family name "Orrin K3" as:fold-book'] },
  'family-forget': { says: '/family forget "Halden Fold"' },
};

function answerTo(name: string, example: string, direct: boolean): Reply {
  const bot = busyBench('en');
  const { first = [], says = here(example), as = 'Ines' } = scenes[name] ?? {};
  for (const line of first) bot.say(line, { as, role: 'steward', direct });
  return bot.say(says, { as, role: 'steward', direct });
}

describe('what the commands say of themselves', () => {
  it.each(made.map(({ file, text }) => [file.split('/').at(-1), file, text] as const))(
    'is current in %s',
    (_, file, text) => expect(saved(file)).toBe(text()),
  );
  it('has every command, action and option, and every code', () => {
    const text = saved(made[0].file);
    for (const { path, action } of actions) {
      expect(text).toContain(path);
      for (const option of Object.keys(action.options)) expect(text).toContain(`| \`${option}\``);
    }
    for (const code of Object.keys(refusalCodes)) expect(text).toContain(`| \`${code}\` |`);
    const all = allCommands().flatMap(({ command }) => Object.keys(command.actions));
    expect(all.length).toBeGreaterThan(actions.length);
    expect(Object.keys(dataSchema().$defs)).toHaveLength(all.length + 1);
  });
});

describe('the data of a reply', () => {
  it.each(actions.map(({ name, action }) => [name, action] as const))(
    'of %s is what the schema says, by its example',
    (name, { examples, where }) => {
      const answer = answerTo(name, examples[0] ?? '', where === 'direct');
      expect(answer.outcome, JSON.stringify(answer)).toBe('answered');
      const schema = schemaOf(name);
      // What a program gets is JSON.
      const data: unknown = JSON.parse(JSON.stringify(answer.data));
      expect(schema.safeParse(data).error).toBeUndefined();
      // The schema is not one that lets everything pass.
      expect(schema.safeParse({ ...Object(data), strange: 1 }).success).toBe(false);
      expect(schema.safeParse('strange').success).toBe(false);
    },
  );
});

describe('a refusal', () => {
  const root = fileURLToPath(new URL('../..', import.meta.url));
  it('has a code that the sources use', () => {
    const sources = ['commands', 'src']
      .flatMap((folder) =>
        readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
          .filter((name) => name.endsWith('.ts') && name !== 'framework/refusal.ts')
          .map((name) => readFileSync(join(root, folder, name), 'utf8')),
      )
      .join('\n');
    const unused = Object.keys(refusalCodes).filter((code) => !sources.includes(`'${code}'`));
    expect(unused).toEqual([]);
  });

  it('is what the schema says', () => {
    const schema = schemaOf('refused');
    const bot = testBot();
    for (const line of ['/worth trace:7', '/wurth', '/caution heet', '/job show 7', '/prices import "a,b"']) {
      const { data } = bot.say(line);
      expect(schema.safeParse(data).error, line).toBeUndefined();
    }
    expect(schema.safeParse({ code: 'odd' }).success).toBe(false);
    expect(schema.safeParse({}).success).toBe(false);
  });

  const trying = (refuses: RefusalCode[], run: () => ReturnType<typeof reply>) =>
    testBot({
      commands: [
        defineSimpleCommand({
          name: 'try',
          summary: typed('For these tests'),
          options: {},
          examples: ['/try'],
          data: z.object({ number: z.number() }).or(z.null()),
          refuses,
          run: () => ({ ...run(), data: null }),
        }),
      ],
    }).say('/try');
  const refuse = () => {
    throw new Refusal({ code: 'secret', problem: typed('No.') });
  };
  it('has a code that its action names, or a test is told', () => {
    expect(refusalOf(trying(['secret'], refuse))).toEqual({ code: 'secret', example: '/try' });
    expect(trying([], refuse).outcome).toBe('fault');
    expect(trying([], () => reply({ title: typed('No.'), outcome: 'refused' })).outcome).toBe('fault');
  });
});
