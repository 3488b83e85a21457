/** What the guides say, held against the project: paths, commands, settings and scripts, and the examples in them. */
import { spawnSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import type { Command } from '../commands/framework/command.ts';
import { commands } from '../commands/index.ts';
import { inspectPack, packFolder } from '../knowledge/load.ts';
import { dangerWords } from '../knowledge/words.ts';
import { dangerIn } from '../shared/words/danger.ts';
import { readSettings } from '../src/environment/program-settings.ts';
import { readDiscordSettings } from '../src/surfaces/discord/settings.ts';
import { readMatrixSettings } from '../src/surfaces/matrix/settings.ts';
import { testBot } from './test-bot.ts';

const root = fileURLToPath(new URL('..', import.meta.url));
const floors = ['src', 'commands', 'shared', 'knowledge'];
const read = (file: string): string => readFileSync(join(root, file), 'utf8');
const listed = (folder: string): string[] =>
  readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' }).map((name) =>
    `${folder}/${name}`.replaceAll('\\', '/'),
  );

const guides = new Map(
  [
    'README.md',
    'DEVELOPERS.md',
    ...[...floors, 'tests'].flatMap(listed).filter((name) => name.endsWith('.md')),
  ].map((file) => [file, read(file)]),
);
const guide = (file: string): string => guides.get(file) ?? '';

const matches = (text: string, pattern: RegExp): string[] =>
  [...text.matchAll(pattern)].map(([, found = '']) => found);
/** What stands between backticks in a line. */
const spansIn = (text: string): string[] => matches(text.replace(/^```[\s\S]*?^```$/gm, ''), /`([^`\n]+)`/g);
/** Blocks of a language, each with the file that its first line names. */
const examplesIn = (text: string, language: string): { file: string; body: string }[] =>
  matches(text, new RegExp(`^\`\`\`${language}\\n([\\s\\S]*?)^\`\`\`$`, 'gm')).map((body) => ({
    file: /^(?:\/\/|#) (\S+)\n/.exec(body)?.[1] ?? '',
    body,
  }));

/** Places in the project, from its root: `shared/worth/net.ts`. Not a part of another path. */
const pathsIn = (text: string): string[] =>
  matches(text, /(?<![\w./-])((?:src|commands|shared|knowledge|tests)\/(?:[\w.@-]+\/?)*)/g).map((path) =>
    path.replace(/\.$/, ''),
  );
const anchorOf = (heading: string): string =>
  heading
    .toLowerCase()
    .replace(/[^\w -]/g, '')
    .replaceAll(' ', '-');
/** Targets of links and pictures, without those of the web. */
const linksIn = (text: string): string[] =>
  [...matches(text, /\]\(([^)\s]+)\)/g), ...matches(text, /src="([^"]+)"/g)].filter(
    (to) => !to.includes(':'),
  );

function brokenLinks(file: string, text: string): string[] {
  return linksIn(text).filter((link) => {
    const [path = '', anchor] = link.split('#');
    const target = path ? join(dirname(join(root, file)), path) : join(root, file);
    if (!existsSync(target)) return true;
    return (
      anchor !== undefined &&
      !matches(readFileSync(target, 'utf8'), /^#+ (.+)$/gm).some((heading) => anchorOf(heading) === anchor)
    );
  });
}
/** Examples name files of their own. */
const lostPaths = (text: string): string[] =>
  pathsIn(text.replace(/^```(ts|yaml)\n[\s\S]*?^```$/gm, '')).filter((path) => !existsSync(join(root, path)));

const scriptsIn = (text: string): string[] => matches(text, /npm run (?:--silent )?([\w:]+)/g);
const { scripts, dependencies, optionalDependencies } = z
  .object({
    scripts: z.record(z.string(), z.string()),
    dependencies: z.record(z.string(), z.string()),
    optionalDependencies: z.record(z.string(), z.string()),
  })
  .parse(JSON.parse(read('package.json')));

/** Commands that are written as they would be said, where the second word is no action, no option and no value of the first. */
const wronglySaid = (text: string): string[] => {
  const context = testBot().context();
  return spansIn(text).filter((span) => {
    const [, name, second] = /^\/([a-z]+) ([a-z-]+)/.exec(span) ?? [];
    const command = commands.find((one) => one.name === name);
    if (!command || second === undefined || second in command.actions) return false;
    const options = command.actions[command.main]?.options ?? {};
    const [first] = Object.values(options);
    return !(second in options) && !first?.schema(context).safeParse(second).success;
  });
};

const namedSettings = (text: string): string[] => [
  ...new Set(matches(text, /\b((?:THIRDHAND|DISCORD|MATRIX)_[A-Z]+(?:_[A-Z]+)*)\b/g)),
];

describe('the guides', () => {
  it('are all there', () => {
    for (const file of [
      'src/README.md',
      'src/surfaces/terminal/README.md',
      'src/surfaces/discord/README.md',
      'src/surfaces/matrix/README.md',
      'commands/danger/README.md',
      'shared/README.md',
      'knowledge/README.md',
      'tests/README.md',
    ]) {
      expect([...guides.keys()]).toContain(file);
      expect(linksIn(guide('README.md'))).toContain(file);
    }
    expect(guide('README.md').trimEnd().split('\n').length).toBeLessThanOrEqual(150);
  });
  it('name no place and no script that is not there', () => {
    const wrong = [...guides].flatMap(([file, text]) =>
      [
        ...brokenLinks(file, text),
        ...lostPaths(text),
        ...scriptsIn(text).filter((name) => !(name in scripts)),
      ].map((what) => `${file}: ${what}`),
    );
    expect(wrong).toEqual([]);
    expect([...guides.values()].flatMap(pathsIn).length).toBeGreaterThan(100);
  });
  it('name nothing in the code that is not there', () => {
    const code = [...floors, 'tests']
      .flatMap(listed)
      .filter((name) => name.endsWith('.ts') && name !== 'tests/guides.test.ts')
      .map(read)
      .join('\n');
    const names = spansIn(guide('DEVELOPERS.md')).flatMap((span) => {
      const [, name = '', call] = /^\.?([A-Za-z]\w*)(\()?/.exec(span) ?? [];
      if (call) return [`${name}(`];
      return /^[a-z]+[A-Z]\w*$|^[A-Z]\w*[a-z]$/.test(span) ? [span] : [];
    });
    expect(names.length).toBeGreaterThan(15);
    const there = (name: string) =>
      new RegExp(`\\b${name.replace('(', '\\(')}${name.endsWith('(') ? '' : '\\b'}`).test(code);
    expect(names.filter((name) => !there(name))).toEqual([]);
  });
  it('would be told of a place, a link and a command that is not there', () => {
    expect(lostPaths('see `shared/worth/nett.ts` and shared/worth/net.ts, /opt/x/src/none.ts')).toEqual([
      'shared/worth/nett.ts',
    ]);
    expect(brokenLinks('src/README.md', '[a](sample.env) [b](../none.md) [c](../README.md#none)')).toEqual([
      '../none.md',
      '../README.md#none',
    ]);
    expect(wronglySaid('`/job strike`, `/job strikes`, `/week preview`, `/week see`')).toEqual([
      '/job strikes',
      '/week see',
    ]);
  });
  it('say each command, and none that is not there', () => {
    const rows = matches(guide('README.md'), /^\| `\/([a-z]+)` \|/gm);
    expect(rows.toSorted()).toEqual(commands.map(({ name }) => name).toSorted());
    expect([...guides].flatMap(([file, text]) => wronglySaid(text).map((one) => `${file}: ${one}`))).toEqual(
      [],
    );
  });
  it('say each folder, each test folder, each script and each package', () => {
    const folders = floors.flatMap((floor) => [
      ...new Set(
        listed(floor)
          .filter((name) => /\.(ts|ya?ml)$/.test(name))
          .map((name) => `${dirname(name)}/`),
      ),
    ]);
    expect(folders.length).toBeGreaterThan(40);
    const developers = guide('DEVELOPERS.md');
    expect(folders.filter((folder) => !pathsIn(developers).includes(folder))).toEqual([]);
    const testFolders = readdirSync(join(root, 'tests'), { withFileTypes: true })
      .filter((entry) => entry.isDirectory())
      .map(({ name }) => `tests/${name}/`);
    expect(testFolders.filter((folder) => !pathsIn(guide('tests/README.md')).includes(folder))).toEqual([]);
    const spans = new Set(spansIn(developers).flatMap((span) => [span, span.split(' ')[0] ?? '']));
    // What npm runs by itself needs no name.
    const said = Object.keys(scripts).filter((name) => !['start', 'prepare', 'dependencies'].includes(name));
    expect(said.filter((name) => !spans.has(name))).toEqual([]);
    const packages = matches(developers, /^\| ([^|]+) \|[^|]+\|[^|]+\|$/gm).flatMap((cell) =>
      cell.split(', '),
    );
    const installed = Object.keys({ ...dependencies, ...optionalDependencies });
    expect(installed.filter((name) => !packages.includes(name))).toEqual([]);
  });
});

describe('the settings', () => {
  const sample = read('src/sample.env');
  const values = Object.fromEntries(
    [...sample.matchAll(/^#?([A-Z_]+)=(.*)$/gm)].map(([, name = '', value = '']) => [name, value]),
  );
  const known = namedSettings(
    listed('src')
      .filter((name) => /settings\.ts$/.test(name))
      .map(read)
      .join('\n'),
  );
  it('are all in the sample file and in the guides, and no other', () => {
    expect(known.length).toBeGreaterThan(8);
    expect(Object.keys(values).toSorted()).toEqual(known.toSorted());
    const tables = ['src/README.md', 'src/surfaces/discord/README.md', 'src/surfaces/matrix/README.md']
      .flatMap((file) => matches(guide(file), /^\| `([A-Z_]+)` \|/gm))
      .toSorted();
    expect(tables).toEqual(known.toSorted());
    expect([...guides.values()].flatMap(namedSettings).filter((name) => !known.includes(name))).toEqual([]);
  });
  it('are read as the sample file has them, once the # is taken away; as it comes it sets nothing', () => {
    expect(readSettings([], values, false)).toMatchObject({ data: values.THIRDHAND_DATA });
    expect(readDiscordSettings(values)).toMatchObject({ api: values.DISCORD_API });
    expect(readMatrixSettings(values)).toMatchObject({ stewardLevel: 50, prefix: '!th' });
    expect(sample.match(/^[^#\n]/m)).toBeNull();
  });
  it('go into the service, which starts what is there', () => {
    const settingsOf = (unit: string) => {
      const [line = ''] = matches(read(unit), /^ExecStart=\S+ (.+)$/gm);
      const [program = '', ...options] = line.split(' ');
      expect(existsSync(join(root, program))).toBe(true);
      const [file = ''] = matches(read(unit), /^EnvironmentFile=-?(.+)$/gm);
      expect(guide('src/README.md')).toContain(file);
      return readSettings(options, {}, false);
    };
    expect(settingsOf('src/thirdhand.service')).toMatchObject({ serve: true });
    const nightly = settingsOf('src/thirdhand-backup.service');
    expect(nightly).toMatchObject({ keep: 14, replace: false });
    expect(guide('src/README.md')).toContain(nightly.backup);
    // A timer starts the service of its name.
    expect(existsSync(join(root, 'src/thirdhand-backup.timer'))).toBe(true);
  });
});

describe('the examples', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'thirdhand-guides-'));
    symlinkSync(join(root, 'node_modules'), join(folder, 'node_modules'), 'dir');
    writeFileSync(join(folder, 'package.json'), read('package.json'));
  });
  afterAll(() => rmSync(folder, { recursive: true }));
  const put = (file: string, body: string): string => {
    const path = join(folder, file);
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, body);
    return path;
  };

  const written = examplesIn(guide('DEVELOPERS.md'), 'ts');
  /** The compiler's complaints about files that lie in their places in the project as far as it can tell. */
  function compiled(files: readonly string[]): string {
    const config = put(
      'tsconfig.json',
      JSON.stringify({
        extends: join(root, 'tsconfig.json'),
        compilerOptions: { rootDirs: [root, folder], typeRoots: [join(root, 'node_modules', '@types')] },
        include: [],
        files,
      }),
    );
    const { stdout, status } = spawnSync(process.execPath, ['src/launch.cjs', 'tsc', '-p', config], {
      cwd: root,
      encoding: 'utf8',
    });
    return status === 0 ? '' : stdout;
  }
  it('for contributors compile, and would be told where they did not', { timeout: 600_000 }, () => {
    expect(written.map(({ file }) => file)).toContain('commands/hello.ts');
    const paths = written.map(({ file, body }) => put(file, body));
    expect(compiled(paths)).toBe('');
    const [first] = written;
    const spoiled = put(
      `${first?.file}.spoiled.ts`,
      (first?.body ?? '').replace('family.name', 'family.names'),
    );
    expect(compiled([spoiled])).toContain("'names'");
  });
  it('of a command is a command that answers', async () => {
    const { body = '' } = written.find(({ file }) => file === 'commands/hello.ts') ?? {};
    const path = put(
      'hello.ts',
      body.replace(/'\.{1,2}\//g, (from) => `'${join(root, 'commands', from.slice(1))}/`),
    );
    const loaded: unknown = await import(path);
    const { hello } = z
      .object({ hello: z.custom<Command>(), helloData: z.custom<z.ZodType>() })
      .parse(loaded);
    const [example = ''] = Object.values(hello.actions)[0]?.examples ?? [];
    const reply = testBot({ commands: [...commands, hello] }).say(example);
    expect(reply).toMatchObject({ outcome: 'answered', data: { family: 'keypad-removable-back' } });
  });
  it('of the pack know its files and its fields', () => {
    const text = guide('knowledge/README.md');
    const files = listed('knowledge/pack').filter((name) => name.endsWith('.yaml'));
    // One row stands for the words of all languages, and one for each language's translations.
    const named = files.map((name) => name.slice('knowledge/pack/'.length).replace(/^([a-z]{2}\/).*/, '$1'));
    const words = named.map((name) => name.replace(/^(words|secrets)\/.*/, '$1/en.yaml'));
    expect(words.filter((name) => !spansIn(text).includes(name))).toEqual([]);
    const code = listed('knowledge')
      .filter((name) => name.endsWith('.ts'))
      .map(read)
      .join('\n');
    const fields = matches(spansIn(text).join('\n'), /^([a-z][A-Za-z]*)(?::|$)/gm);
    expect(fields.length).toBeGreaterThan(10);
    expect(
      fields.filter((field) => !new RegExp(`^ *${field}[:,]|'${field}'|\\b${field}: z\\.`, 'm').test(code)),
    ).toEqual([]);
  });
  it('of the pack are right when they are laid over it', () => {
    const own = join(folder, 'our-pack');
    const shown = examplesIn(guide('knowledge/README.md'), 'yaml');
    expect(shown.map(({ file }) => file)).toEqual(['symptoms.yaml', 'words/en.yaml']);
    for (const { file, body } of shown) put(`our-pack/${file}`, body);
    const { knowledge, findings } = inspectPack([packFolder, own], null);
    expect(findings).toEqual([]);
    expect(knowledge.symptoms.get('rattles')?.name).toBe('rattles when shaken');
    expect(dangerIn(dangerWords(knowledge.words), 'the cell looks like a cushion').facts).toEqual([
      'swollen',
    ]);
  });
});
