import { readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join, posix } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { commands } from '../commands/index.ts';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
/** Each floor may import from itself and from those after it. */
const floors = ['src', 'commands', 'shared', 'knowledge'];

const files = floors.flatMap((floor) =>
  readdirSync(join(root, floor), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => posix.join(floor, name.replaceAll('\\', '/'))),
);
const sources = new Map(files.map((file) => [file, readFileSync(join(root, file), 'utf8')]));

/** The modules that a text imports, waited for or not, as they are written. */
const importedBy = (text: string): string[] =>
  [...text.matchAll(/(?:from|import)\s*\(?\s*'([^']+)'/g)].map((match) => match[1] ?? '');

type Arrow = readonly [from: string, to: string];
const arrowsOf = (file: string, imports: readonly string[]): Arrow[] =>
  imports.flatMap((one) => (one.startsWith('.') ? [[file, posix.join(dirname(file), one)] as const] : []));
const arrows = [...sources].flatMap(([file, text]) => arrowsOf(file, importedBy(text)));

const floorOf = (file: string): number => floors.indexOf(file.split('/')[0] ?? '');
const wrongWay = (all: readonly Arrow[]): Arrow[] => all.filter(([from, to]) => floorOf(to) < floorOf(from));
const platformsIn = (file: string, imports: readonly string[]): string[] =>
  floorOf(file) > 0 ? imports.filter((one) => /^(discord\.js|matrix-bot-sdk)/.test(one)) : [];

/** Sets of nodes that each reach the others: strongly connected components of more than one (Tarjan 1972). */
function circles(all: readonly Arrow[]): string[][] {
  const next = new Map<string, Set<string>>();
  for (const [from, to] of all) if (from !== to) next.set(from, (next.get(from) ?? new Set()).add(to));
  const order = new Map<string, number>();
  const low = new Map<string, number>();
  const stack: string[] = [];
  const found: string[][] = [];
  const visit = (node: string): void => {
    order.set(node, order.size);
    low.set(node, order.get(node) ?? 0);
    stack.push(node);
    for (const to of next.get(node) ?? []) {
      if (!order.has(to)) visit(to);
      if (stack.includes(to)) low.set(node, Math.min(low.get(node) ?? 0, low.get(to) ?? 0));
    }
    if (low.get(node) !== order.get(node)) return;
    const members = stack.splice(stack.indexOf(node));
    if (members.length > 1) found.push(members.sort());
  };
  for (const node of next.keys()) if (!order.has(node)) visit(node);
  return found;
}
const ofFolders = (all: readonly Arrow[]): Arrow[] =>
  all.map(([from, to]) => [dirname(from), dirname(to)] as const);

/** `discord` of a file of that surface. */
const surfaceOf = (file: string): string | null => /^src\/surfaces\/(\w+)\//.exec(file)?.[1] ?? null;
const acrossSurfaces = (all: readonly Arrow[]): Arrow[] =>
  all.filter(([from, to]) => {
    const [own, other] = [surfaceOf(from), surfaceOf(to)];
    return own !== null && other !== null && own !== other;
  });

/** `trace` of a file of that command; null for what all commands share, and for the list of them. */
function commandOf(file: string): string | null {
  const [floor, room = ''] = file.split('/');
  if (floor !== 'commands' || ['framework', 'shared', 'index.ts'].includes(room)) return null;
  return room.replace(/\.ts$/, '');
}
const roomOf = (file: string): string => /^commands\/(framework|shared)\//.exec(file)?.[1] ?? '';
/** A command takes from the framework, from what is shared and from its own files; those two take from no command. */
const insides = (all: readonly Arrow[]): Arrow[] =>
  all.filter(([from, to]) => {
    if (floorOf(from) !== 1 || floorOf(to) !== 1) return false;
    if (from === 'commands/index.ts') {
      const own = commandOf(to);
      return own !== null && to !== `commands/${own}.ts` && to !== `commands/${own}/index.ts`;
    }
    const other = commandOf(to);
    if (other !== null) return other !== commandOf(from);
    return roomOf(from) === 'framework' && roomOf(to) !== 'framework';
  });

/** The names that a file declares and exports. */
const exportedBy = (text: string): string[] => [
  ...new Set(
    [
      ...text.matchAll(
        /^export (?:async )?(?:const|let|function\*?|class|interface|type|enum) (?!\{)([\w$]+)/gm,
      ),
    ].map((match) => match[1] ?? ''),
  ),
];
const namedTwice = (all: Iterable<readonly [file: string, names: readonly string[]]>): string[] => {
  const places = new Map<string, string[]>();
  for (const [file, names] of all)
    for (const name of names) places.set(name, [...(places.get(name) ?? []), file]);
  return [...places].filter(([, where]) => where.length > 1).map(([name, where]) => `${name}: ${where}`);
};

/** What every surface has, under the same name on each. */
const surfaceFiles = [
  'start',
  'requester',
  'message-hands',
  'job-threads',
  'render',
  'forms',
  'settings',
  'check',
  'poster',
  'files',
  'wording',
];
/** What a command's folder has beside its actions: how it answers, and options that several of them share. */
const commandFiles = ['reply', 'options'];
const actionsOf = new Map(commands.map(({ name, actions }) => [name, Object.keys(actions).filter(Boolean)]));

/** What a file is called where no other may be called so; null for those that are called by a rule. */
function ownName(file: string): string | null {
  const name = basename(file, '.ts');
  if (name === 'index') return null;
  if (surfaceOf(file) !== null && surfaceFiles.includes(name)) return null;
  const command = commandOf(file);
  if (command !== null && [...(actionsOf.get(command) ?? []), ...commandFiles].includes(name)) return null;
  if (file === 'commands/framework/reply.ts') return null;
  return name;
}
const calledAlike = (all: readonly string[]): string[] =>
  namedTwice(all.map((file) => [file, [ownName(file) ?? []].flat()] as const));

describe('layout', () => {
  it('is looked at whole', () => {
    for (const floor of floors) expect(files.some((file) => file.startsWith(`${floor}/`))).toBe(true);
    expect(files.length).toBeGreaterThan(200);
    expect(arrows.filter(([, to]) => !sources.has(to))).toEqual([]);
  });
  it('imports one way: src -> commands -> shared -> knowledge', () => {
    expect(wrongWay(arrows)).toEqual([]);
    expect([...sources].flatMap(([file, text]) => platformsIn(file, importedBy(text)))).toEqual([]);
  });
  it('has no circle of files, and none of folders', () => {
    expect(circles(arrows)).toEqual([]);
    expect(circles(ofFolders(arrows))).toEqual([]);
  });
  it('has surfaces side by side', () => {
    expect(acrossSurfaces(arrows)).toEqual([]);
  });
  it('has commands side by side', () => {
    expect(insides(arrows)).toEqual([]);
  });
  it('has a file for each action of a command with several', () => {
    for (const [name, actions] of actionsOf)
      for (const action of actions) expect(files).toContain(`commands/${name}/${action}.ts`);
  });
  it('exports no name from two files', () => {
    expect(namedTwice([...sources].map(([file, text]) => [file, exportedBy(text)] as const))).toEqual([]);
  });
  it('calls no two files alike', () => {
    expect(calledAlike(files.filter((file) => floorOf(file) < 3))).toEqual([]);
  });
  it('keeps the clock out of the core', () => {
    const reading = [...sources].filter(
      ([file, text]) => floorOf(file) > 0 && /new Date\(\)|Date\.now\(/.test(text),
    );
    expect(reading.map(([file]) => file)).toEqual([]);
  });
});

describe('the look at the layout', () => {
  it('would be told of an import the wrong way', () => {
    expect(wrongWay(arrowsOf('shared/worth/net.ts', ['../../commands/framework/reply.ts']))).toHaveLength(1);
    expect(platformsIn('commands/worth.ts', ['discord.js'])).toHaveLength(1);
    expect(importedBy("import type { A } from './a.ts';\nawait import(\n  './b.ts');")).toEqual([
      './a.ts',
      './b.ts',
    ]);
  });
  it('would be told of a circle', () => {
    const ring: Arrow[] = [
      ['shared/a/one.ts', 'shared/b/two.ts'],
      ['shared/b/two.ts', 'shared/b/three.ts'],
      ['shared/b/three.ts', 'shared/a/four.ts'],
      ['shared/a/four.ts', 'shared/c/five.ts'],
    ];
    expect(circles(ring)).toEqual([]);
    expect(circles(ofFolders(ring))).toEqual([['shared/a', 'shared/b']]);
    expect(circles([...ring, ['shared/a/four.ts', 'shared/b/two.ts']])).toEqual([
      ['shared/a/four.ts', 'shared/b/three.ts', 'shared/b/two.ts'],
    ]);
  });
  it('would be told of a surface or a command that looks into another', () => {
    expect(
      acrossSurfaces([
        ['src/surfaces/discord/start.ts', 'src/surfaces/matrix/render.ts'],
        ['src/surfaces/discord/start.ts', 'src/surfaces/text.ts'],
      ]),
    ).toHaveLength(1);
    expect(
      insides([
        ['commands/trace/start.ts', 'commands/job/options.ts'],
        ['commands/worth.ts', 'commands/trace/reply.ts'],
        ['commands/shared/phone.ts', 'commands/job/reply.ts'],
        ['commands/framework/parse.ts', 'commands/shared/lookups.ts'],
        ['commands/index.ts', 'commands/job/list.ts'],
        ['commands/index.ts', 'commands/job/index.ts'],
        ['commands/job/list.ts', 'commands/job/reply.ts'],
        ['commands/job/list.ts', 'commands/shared/find-job.ts'],
      ]),
    ).toHaveLength(5);
  });
  it('would be told of a name that stands twice', () => {
    const text =
      'export const one = 1;\nexport type Two = 2;\nexport async function three() {}\nconst four = 4;';
    expect(exportedBy(text)).toEqual(['one', 'Two', 'three']);
    expect(
      namedTwice([
        ['a.ts', ['one', 'two']],
        ['b.ts', ['two']],
      ]),
    ).toEqual(['two: a.ts,b.ts']);
    expect(
      calledAlike(['shared/a/settings.ts', 'shared/b/settings.ts', 'src/surfaces/discord/settings.ts']),
    ).toHaveLength(1);
    expect(calledAlike(['commands/job/list.ts', 'commands/trace/list.ts', 'commands/job/sums.ts'])).toEqual(
      [],
    );
    expect(calledAlike(['commands/job/sums.ts', 'commands/trace/sums.ts'])).toHaveLength(1);
  });
});
