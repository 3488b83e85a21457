import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
/** Each folder may import from itself and from those after it. */
const order = ['src', 'commands', 'shared', 'knowledge'];

const files = order.flatMap((folder) =>
  readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => join(folder, name)),
);
const importsOf = (file: string): string[] =>
  [...readFileSync(join(root, file), 'utf8').matchAll(/(?:from|import)\s*\(?\s*'([^']+)'/g)].map(
    (match) => match[1] ?? '',
  );

/** What is wrong with a file's imports, if anything. */
function wrongImports(file: string, imports: readonly string[]): string[] {
  const own = order.indexOf(file.split('/')[0] ?? '');
  return imports.flatMap((target) => {
    if (!target.startsWith('.')) {
      const platform = /^(discord\.js|matrix-bot-sdk)/.test(target);
      return platform && own > 0 ? [`${file} imports the chat platform ${target}`] : [];
    }
    const folder = relative(root, resolve(join(root, dirname(file)), target)).split('/')[0] ?? '';
    return order.indexOf(folder) >= own ? [] : [`${file} imports ${target}`];
  });
}

describe('layout', () => {
  it('is looked at whole', () => {
    for (const folder of order) expect(files.some((file) => file.startsWith(`${folder}/`))).toBe(true);
    expect(files.length).toBeGreaterThan(40);
  });
  it('imports one way: src -> commands -> shared -> knowledge', () => {
    expect(files.flatMap((file) => wrongImports(file, importsOf(file)))).toEqual([]);
  });
  it('would be told of an import the wrong way', () => {
    expect(wrongImports('shared/worth/net.ts', ['../../commands/reply.ts'])).toHaveLength(1);
    expect(wrongImports('commands/worth.ts', ['discord.js'])).toHaveLength(1);
  });
  it('keeps the clock out of the core', () => {
    const reading = files.filter(
      (file) =>
        !file.startsWith('src/') && /new Date\(\)|Date\.now\(/.test(readFileSync(join(root, file), 'utf8')),
    );
    expect(reading).toEqual([]);
  });
});
